"""`python -m cartclock`: the same door as the command `cartclock`.

This folder is the installed package `cartclock` itself; engine, tui and demo_sessions are
mapped below it in pyproject.toml.
"""

from cartclock.tui.cli import main

main()
