"""The door: the screens, or a command.

stdout is data, stderr is talk. Exit 0 done, 1 refused or not found, 2 bad input, 70 a bug,
128 and the number of the signal that ended the screens.
The screens are what a worker waits for, so what only commands need is not imported for them.
"""

from __future__ import annotations

import os
import sys

from cartclock.tui.commands.door import ASKED


def main() -> None:
    """The program, as it was called; ends the process with its exit code."""
    words = sys.argv[1:]
    _mind_streams()
    # What asks for the screens and nothing else: a shell that asks how a word goes on says none.
    if words in ([], ["--mouse"]) and ASKED not in os.environ:
        from cartclock.tui.commands.start import open_screens

        open_screens(mouse=bool(words))
    else:
        import atexit
        import gc

        # A command is over before there is much to throw away, and what is left at its end goes
        # with the process: looking for it takes a seventh of the time.
        gc.set_threshold(50_000)
        atexit.register(gc.freeze)
        _load_structs()
        from cartclock.tui.commands.group import commands

        commands(complete_var=ASKED)


def _mind_streams() -> None:
    """A stream that was closed swallows what is said, or has nothing to read; a letter that the
    encoding of one has not becomes a question mark.
    """
    if None in (sys.stdin, sys.stdout, sys.stderr):
        # In this order: a file opened later must not get the number of a standard stream.
        for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
            if getattr(sys, name) is None:
                setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: PTH123, SIM115  # it lasts as long as the process
    for stream in (sys.stdout, sys.stderr):
        if stream.encoding.lower().replace("-", "") != "utf8":
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a text stream here


def _load_structs() -> None:
    """Imports the library of structs without the backports of `typing`, which it would try first.

    It takes `typing` itself where there are none, and they are longer to read than all the rest
    of it: an eleventh of a record. Whoever else wants them has them.
    """
    backports = "typing_extensions"
    if backports in sys.modules:
        return
    # None makes an import fail (Python reference, section 5.3.1).
    sys.modules[backports] = None  # type: ignore[assignment]  # typeshed knows modules only
    try:
        import msgspec  # noqa: F401  # for what imports it later
    finally:
        del sys.modules[backports]


if __name__ == "__main__":
    main()
