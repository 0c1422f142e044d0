"""The text of a file that somebody wrote by hand: plain, and no longer than such a file is."""

from __future__ import annotations

import re
from pathlib import Path

from cartclock.engine.store.plain_file import first_bytes
from cartclock.engine.trouble import PlanFault

# Our own judgement: the longest starter has a fiftieth of it.
_MOST_BYTES = 1_000_000
# So many keys are named one within the other at most; no table of ours needs a fifth of it.
_DEEPEST = 20
# It begins where a word does, so that no letter is looked at more than that often.
_DOTTED = re.compile(rf"(?<![\w\"'-])(?:[\w\"'-]+[ \t]*\.[ \t]*){{{_DEEPEST}}}")


def plain_text(path: Path) -> str:
    """The text of a file, in UTF-8.

    Raises:
        PlanFault: it is no plain file, too long, or holds what takes for ever to read.
        OSError, UnicodeDecodeError: as where any file is read.
    """
    content = first_bytes(path, _MOST_BYTES + 1)
    if content is None:
        raise PlanFault((f"{path.name}: this is no plain file; name one.",))
    if len(content) > _MOST_BYTES:
        raise PlanFault(
            (f"{path.name}: this is longer than {_MOST_BYTES:,} bytes; name another file.",)
        )
    text = content.decode("utf-8")
    if _DOTTED.search(text):
        raise PlanFault(
            (f"{path.name}: {_DEEPEST} keys stand one within the other; write fewer dots.",)
        )
    return text
