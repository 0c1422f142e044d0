"""Installed only under `cartclock.`, whole, beside whatever is there, and gone without a trace."""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from importlib.metadata import version
from pathlib import Path

import pytest

from tests.house.test_docs import blocks, manual
from tests.kit.day import Day

ROOT = Path(__file__).parents[2]
PARTS = ("engine", "tui", "demo_sessions")
FOREIGN = "print('another program')\n"


def _setuptools() -> dict[str, object]:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    found: dict[str, object] = tomllib.loads(text)["tool"]["setuptools"]
    return found


def _files() -> set[Path]:
    """Every file of the three parts that belongs to the program, relative to the root."""
    return {
        path.relative_to(ROOT)
        for part in PARTS
        for path in (ROOT / part).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def _installed() -> set[Path]:
    """The pages that are installed: the manual's, and those beside the demos."""
    pages = {page.relative_to(ROOT) for page in manual()} - {Path("README.md")}
    return pages | {path for path in _files() if path.parts[0] == "demo_sessions"}


def test_every_page_of_the_manual_is_listed_to_be_installed() -> None:
    data = _setuptools()["package-data"]
    assert isinstance(data, dict)
    listed = {
        Path(*package.split(".")[1:], name)
        for package, names in data.items()
        for name in names
        if name.endswith(".md") and "*" not in name
    }
    assert listed == {page for page in _installed() if page.suffix == ".md"} - {
        page for page in _installed() if page.name == "about.md"
    }


def test_every_folder_with_code_is_a_listed_package() -> None:
    folders = {path.parent for path in _files() if path.name == "__init__.py"}
    wanted = {"cartclock", *("cartclock." + ".".join(folder.parts) for folder in folders)}
    listed = _setuptools()["packages"]
    assert isinstance(listed, list)
    assert set(listed) == wanted
    assert len(listed) == len(wanted)
    mapped = _setuptools()["package-dir"]
    assert isinstance(mapped, dict)
    assert mapped == {"cartclock": "tui/cartclock"} | {f"cartclock.{part}": part for part in PARTS}


def test_no_code_lies_outside_a_package() -> None:
    code = {path.parent for path in _files() if path.suffix == ".py"}
    bare = {folder for folder in code if not (ROOT / folder / "__init__.py").exists()}
    assert bare == {
        Path("tui/cartclock")
    }  # the installed name itself, which has no code of its own


def test_nothing_is_imported_by_the_name_of_its_folder() -> None:
    # From the root of the tree `import engine` would find a second copy of every module.
    wrong = []
    for path in sorted([*_files(), *(p.relative_to(ROOT) for p in (ROOT / "tests").rglob("*.py"))]):
        text = (ROOT / path).read_text(encoding="utf-8") if path.suffix == ".py" else ""
        # A name behind a dot is not that of a folder.
        if not re.search(rf"(?<![.\w])({'|'.join(PARTS)})(?![\w])", text):
            continue
        for node in ast.walk(ast.parse(text)):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            elif isinstance(node, ast.Call):
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                words = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
                names = [str(word) for word in words if called in ("files", "import_module")]
            wrong += [f"{path}: {name}" for name in names if name.split(".")[0] in PARTS]
    assert not wrong, "\n".join(wrong)


def _copy(to: Path) -> Path:
    """The tree as a stranger gets it: nothing built, nothing cached."""
    to.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, to)
    for part in PARTS:
        shutil.copytree(ROOT / part, to / part, ignore=shutil.ignore_patterns("__pycache__"))
    return to


def _ran(*command: str | Path, cwd: Path, path: str = "") -> str:
    env = {**os.environ, "PYTHONPATH": path, "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=env, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


class Environment:
    """A fresh environment that has our dependencies, and another program's `engine` package."""

    def __init__(self, at: Path) -> None:
        venv.create(at, with_pip=True)
        self.bin = at / ("Scripts" if os.name == "nt" else "bin")
        self.python = self.bin / "python"
        scheme = {"base": str(at), "platbase": str(at)}
        self.site = Path(sysconfig.get_path("purelib", vars=scheme))
        # What we depend on is taken from where the tests run; nothing of it is tested here.
        ours = [path for path in sys.path if Path(path).name == "site-packages"]
        (self.site / "ours.pth").write_text("\n".join(ours), encoding="utf-8")
        for name in ("engine", "tui"):
            (self.site / name).mkdir()
            (self.site / name / "__init__.py").write_text(FOREIGN, encoding="utf-8")
            (self.site / name / "bench.py").write_text(FOREIGN, encoding="utf-8")
        self.before = self.files()

    def files(self) -> dict[str, bytes]:
        """Every file of the environment's packages and commands, but what Python and pip cache."""
        return {
            str(path): path.read_bytes()
            for folder in (self.site, self.bin)
            for path in folder.rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }


def _works(there: Environment, cwd: Path) -> None:
    """The command and `-m` answer, with another program's `tui` first on the path as well."""
    foreign = cwd / "foreign"
    for name in PARTS:
        (foreign / name).mkdir(parents=True, exist_ok=True)
        (foreign / name / "__init__.py").write_text(FOREIGN, encoding="utf-8")
    words = ("work-out", "mix", "10:1", "--make", "500ml")
    for path in ("", str(foreign)):
        by_name = _ran(there.bin / "cartclock", *words, cwd=cwd, path=path)
        by_module = _ran(there.python, "-m", "cartclock", *words, cwd=cwd, path=path)
        assert by_name == by_module
        assert "500" in by_name and "another program" not in by_name
        plan = cwd / "plan.toml"
        new = ("new", "--from", "maintenance_wash", "--out", plan)
        _ran(there.python, "-m", "cartclock", *new, cwd=cwd, path=path)
        plan.unlink()
        played = _ran(
            there.bin / "cartclock", "demo", "three_washes", "--plain", cwd=cwd, path=path
        )
        wanted = (ROOT / "demo_sessions/three_washes/record.txt").read_text(encoding="utf-8")
        assert played == wanted


@pytest.mark.long
@pytest.mark.parametrize("how", ["wheel", "editable"])
def test_installed_used_and_gone_beside_a_foreign_engine(tmp_path: Path, how: str) -> None:
    tree = _copy(tmp_path / "tree")
    there = Environment(tmp_path / "environment")
    pip = (there.python, "-m", "pip", "--quiet")
    if how == "wheel":
        _ran(*pip, "wheel", "--no-deps", "--wheel-dir", tmp_path, tree, cwd=tmp_path)
        (wheel,) = tmp_path.glob("*.whl")
        names = {
            Path(name) for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name
        }
        mapped = {
            Path("cartclock", path)
            for path in _files()
            # The installed name's own folder, and pages for who works on the program.
            if path.parent.name != "cartclock" and (path.suffix != ".md" or path in _installed())
        }
        assert names == mapped | {Path("cartclock/__main__.py")}
        _ran(*pip, "install", "--no-deps", wheel, cwd=tmp_path)
        shutil.rmtree(tree)
    else:
        _ran(*pip, "install", "--no-deps", "--editable", tree, cwd=tmp_path)
    assert {name: there.files()[name] for name in there.before} == there.before
    _works(there, tmp_path)
    _ran(*pip, "uninstall", "--yes", "cartclock", cwd=tmp_path)
    assert there.files() == there.before
    assert not (there.site / "cartclock").exists()


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="the commands are those of a POSIX shell")
def test_the_commands_of_readme_install_upgrade_and_uninstall(tmp_path: Path) -> None:
    tree, home = _copy(tmp_path / "tree"), tmp_path / "home"
    (home / "cart").mkdir(parents=True)
    # The first command finds it there, with what we depend on.
    there = Environment(tree / ".venv")
    install, _tests, link, upgrade, uninstall = blocks("sh")

    def ran(block: str) -> str:
        done = subprocess.run(
            ["sh", "-euc", block],
            cwd=tree,
            env={
                "HOME": str(home),
                "CARTCLOCK_HOME": str(home / "cart"),
                "PATH": f"{home / '.local/bin'}:{Path(sys.executable).parent}:/usr/bin:/bin",
                "LANG": "C.UTF-8",
            },
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    wanted = (ROOT / "demo_sessions/dry_heat_estate/record.txt").read_text(encoding="utf-8")
    assert ran(install) == wanted
    ran(link)
    day = Day(home / "cart")
    day.take(60)
    day.bench.close()
    rows = ran("cartclock jobs")
    pyproject = tree / "pyproject.toml"
    text = re.sub(r'(?m)^version = ".*"$', 'version = "99.0"', pyproject.read_text("utf-8"))
    pyproject.write_text(text, "utf-8")
    ran(upgrade)
    assert "99.0" in ran("cartclock --version")
    assert (ran("cartclock jobs"), (home / "before_upgrade.db").exists()) == (rows, True)
    kept = {path for path in (home / "cart").rglob("*") if path.is_file()}
    ran(uninstall)
    assert there.files() == there.before
    assert not (home / ".local/bin/cartclock").is_symlink()
    assert {path for path in (home / "cart").rglob("*") if path.is_file()} == kept


def test_the_same_door_as_a_module() -> None:
    said = _ran(sys.executable, "-m", "cartclock", "--version", cwd=ROOT)
    assert said.endswith(f"cartclock, version {version('cartclock')}\n")
