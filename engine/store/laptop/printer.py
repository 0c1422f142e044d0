"""A file on paper: the system's own `lp` command, which may be missing, fail or hang.

The file stays where it is whatever happens; every trouble says so and what to do.
"""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.store.laptop.child import answer_of
from cartclock.engine.trouble import Refused

# A print queue that is there takes a file within so long; common practice, no source.
PRINTER_TIMEOUT_S = 10.0
# How much of what lp says has room in an answer; our own judgement.
_LONGEST = 300


async def printed(
    file: Path, title: str, paper: str = "A4", queue: str = "", timeout_s: float = PRINTER_TIMEOUT_S
) -> str:
    """Hands a file to `lp` and answers with a sentence.

    Args:
        file: an absolute path.
        title: what the queue shows.
        paper: size of the paper, as `lp -o media=` takes it.
        queue: the print queue; "" for the system's own choice.
        timeout_s: seconds, > 0.

    Raises Refused: there is no lp, it fails, or it does not answer. The file is kept.
    """
    words = ["-t", title, "-o", f"media={paper}", *(["-d", queue] if queue else []), str(file)]
    try:
        found = await answer_of(["lp", *words], timeout_s)
    except TimeoutError:
        raise Refused(
            f"lp did not answer within {timeout_s:g} s. See whether the printer is on and the "
            f"queue takes jobs (lpstat -p), then print again. The file is kept: {file}"
        ) from None
    except FileNotFoundError:
        raise Refused(
            "This computer has no lp command to print with. "
            f"Open the file and print it from there: {file}"
        ) from None
    except (OSError, ValueError) as why:
        raise Refused(
            f"lp cannot be started: {why}. Open the file and print it from there: {file}"
        ) from None
    if found.code:
        why_not = _told(found.trouble) or _told(found.said) or f"it failed with code {found.code}"
        raise Refused(
            f"lp did not take it: {why_not}. See lpstat -p for the queues; queue under printing "
            f"in the settings names one. The file is kept: {file}"
        )
    answer = _told(found.said) or "lp took it"
    return f"Sent to print: {answer}. The file: {file}"


def _told(said: bytes) -> str:
    """What a program said, in one line that can be shown, without its full stop."""
    text = " ".join(said.decode("utf-8", "replace").split())
    return "".join(c for c in text if c.isprintable())[:_LONGEST].rstrip(". ")
