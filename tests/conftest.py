"""What holds for every test: how Hypothesis looks for examples, what is kept and where.

A run without a word tries the same examples every time, so that what was green stays green
until something changes, and of as many as a test asks for a quarter. `-m long` looks for new
ones, all of them, and so does `--hypothesis-profile long` with any choice of tests; a failing
example prints what to put above its test to have it again.
"""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Generator
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path
from tempfile import gettempdir
from typing import Any

import pytest
from _pytest.unraisableexception import gc_collect_iterations_key
from hypothesis import HealthCheck, Phase, settings
from hypothesis.internal.conjecture import providers
from hypothesis.internal.constants_ast import Constants
from xdist.remote import Producer
from xdist.scheduler import LoadGroupScheduling

from tests.kit.family import families, fold

# Some fifty children start the program, and every worker reads every test: what is compiled once
# is kept for the others, whatever is usual on this machine.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# What is read and collected stays; `pytest_collection_finish` has garbage looked for again.
gc.disable()

# A thousand logs are synced with every press; in memory nobody waits for a disk. What a crash of
# the machine would leave is not for tests to find out; a killed program leaves the same.
MEMORY, ROOM = Path("/dev/shm"), 2**30
if "TMPDIR" not in os.environ and os.access(MEMORY, os.W_OK):
    # The default of a container, 64 MB, is too little for a run that fails a lot.
    os.environ["TMPDIR"] = str(MEMORY if shutil.disk_usage(MEMORY).free > ROOM else gettempdir())
    tempfile.tempdir = None

# A machine that has other work to do is no fault of the code under test.
SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much)

# Of the examples a test asks for, how many are tried in a run without a word, and at least.
SHARE, FEWEST = 0.25, 6

settings.register_profile(
    "same",
    deadline=None,
    database=None,
    derandomize=True,
    max_examples=50,
    suppress_health_check=SLOW,
)
settings.register_profile(
    "long",
    deadline=None,
    database=None,
    derandomize=False,
    max_examples=1000,
    print_blob=True,
    suppress_health_check=SLOW,
)
# For tests of the tests: it is enough that something is found.
settings.register_profile(
    "found", settings.get_profile("same"), phases=(Phase.explicit, Phase.generate)
)


class Shares(LoadGroupScheduling):
    """How the tests are dealt out: a file goes to one worker, unless it says groups of its own.

    Dealt out one by one, each end of a test has the hands of all the others counted.
    """

    def _split_scope(self, nodeid: str) -> str:
        group: str = super()._split_scope(nodeid)
        return nodeid.partition("::")[0] if group == nodeid else group


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> Shares:
    """Called where the tests are dealt out."""
    return Shares(config, log)


def pytest_configure(config: pytest.Config) -> None:
    """Loads a profile before the first test is read, because a test keeps the one it finds."""
    # At the end garbage is looked for once, for what was not closed; five times are for others.
    config.stash[gc_collect_iterations_key] = 1
    if hasattr(config, "workerinput"):
        # Behind all else that is done at the end: what a worker of thousands of tests holds would
        # be taken apart piece by piece, for seconds, while the whole run waits.
        atexit.register(os._exit, 0)
    long = config.option.markexpr == "long"
    settings.load_profile("long" if long else "same")
    if not long:
        # What a test tries would go by the constants of whichever modules were read before it, so
        # that it had other examples in another run; and all of them would be parsed.
        assert callable(providers._get_local_constants)
        providers._get_local_constants = Constants  # type: ignore[assignment]  # none of any


def pytest_sessionstart(session: pytest.Session) -> None:
    """A worker tells of a test that passed once; four more words of it nobody reads.

    They are how a test began and ended and that nothing was wrong before and after it: a fiftieth
    of what the tests need. Who asks for lines, times or a report in XML has them all.
    """
    option = session.config.option
    if option.verbose > 0 or option.durations is not None or option.xmlpath:
        return
    for plugin in session.config.pluginmanager.get_plugins():
        if hasattr(plugin, "sendevent"):
            plugin.sendevent = partial(_sent, plugin.sendevent)


def _sent(send: Callable[..., None], name: str, **told: Any) -> None:
    data = told.get("data", {})
    beside = name == "testreport" and data["outcome"] == "passed" and data["when"] != "call"
    if name not in ("logstart", "logfinish") and not (beside and not data["sections"]):
        send(name, **told)


@pytest.hookimpl(tryfirst=True)
def pytest_collection(session: pytest.Session) -> None:
    """Reads the test files; each of several workers begins at another one.

    In a new tree what the first reader of a file compiles is there for the others, who would
    otherwise all compile the same file at the same time. What cannot be read is told of by the
    collection, which tries it again.
    """
    here = getattr(session.config, "workerinput", None)
    if here is None:
        return
    root = session.config.rootpath
    found = sorted(at for arg in session.config.args for at in (root / arg).rglob("test_*.py"))
    first = len(found) * int(here["workerid"].removeprefix("gw")) // here["workercount"]
    for path in found[first:] + found[:first]:
        with suppress(Exception, pytest.skip.Exception):
            import_module(".".join(path.relative_to(root).with_suffix("").parts))


@pytest.hookimpl(wrapper=True)
def pytest_generate_tests(metafunc: pytest.Metafunc) -> Generator[None]:
    """What a test is called with is known then, and none of its cases is made yet."""
    yield
    fold(metafunc)


def _share_examples(items: list[pytest.Item], config: pytest.Config) -> None:
    """With `-m long` every test that looks for examples is chosen, and tries them all."""
    looking = [item for item in items if hasattr(getattr(item, "obj", None), "hypothesis")]
    if config.option.markexpr == "long":
        for item in looking:
            item.add_marker("long")
    elif config.getoption("hypothesis_profile", None) != "long":
        for test in {item.obj for item in looking if isinstance(item, pytest.Function)}:
            asked: settings = test._hypothesis_internal_use_settings
            # Who asks for a handful has slow ones.
            count = max(min(FEWEST, asked.max_examples), round(asked.max_examples * SHARE))
            test._hypothesis_internal_use_settings = settings(asked, max_examples=count)


@pytest.hookimpl(wrapper=True)
def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> Generator[None]:
    """What nobody chose is gone by then: of what is left, the cases of one test are one test.

    One worker has all that wait for a terminal, a child or a clock, from the beginning: beside it
    the others have the cores, and none of it is left for the end, when nobody would use them.
    """
    _share_examples(items, config)
    for item in items:
        if item.get_closest_marker("waits"):
            item.add_marker(pytest.mark.xdist_group("waits"))
    items.sort(key=lambda item: item.get_closest_marker("waits") is None)
    yield
    items[:] = families(items, config)


def pytest_collection_finish() -> None:
    """What was collected lives as long as the run: no use in looking through it for garbage."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()
