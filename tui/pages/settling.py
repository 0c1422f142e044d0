"""The first questions as pages: what is asked, what it is for, and what was answered."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from cartclock.tui.face.page import Air, Cells, Column, Large, Page, PageRow, Table, Words

# Points of half a row; our own judgement.
_HIGHEST = 7


class Question(Struct, frozen=True):
    """One of the first questions.

    Fields:
        keys: the settings that its answer writes.
        name: one word for it.
        asked: the question.
        why: what the answer is for, and what holds without it.
    """

    keys: tuple[str, ...]
    name: str
    asked: str
    why: str


QUESTIONS = (
    Question(
        ("worker",),
        "name",
        "Your name",
        "It stands beside every press in the log, and on the record of a job. Without one it is "
        '"me".',
    ),
    Question(
        ("shop",),
        "shop",
        "The shop, as the papers say it",
        "Name, lines of the address and a phone, parted by commas: The Green Carport, 12 Orchard "
        "Lane, 555 0100. Without them the head of a paper is empty.",
    ),
    Question(
        ("rule_set",),
        "hours",
        "Are you paid by the hour?",
        "Then breaks are judged by a set of rules: which count as work, and which are asked "
        "about. Without an answer they are judged by 29 CFR 785.",
    ),
    Question(
        ("temperature", "reading_command"),
        "measures",
        "Degrees, and what measures them",
        "Heat, rests, drinks and the gate before a coat go by readings. They are typed from a "
        "thermometer and a hygrometer with R, or a command prints them every ten minutes.",
    ),
    Question(
        ("place", "zone"),
        "place",
        "Where the car stands",
        "For the height of the sun, and for times: latitude and longitude like 48.5 9.1, or a "
        "time zone or its city, like Europe/Madrid. Without an answer it is the zone of this "
        "computer, and latitude 40.",
    ),
)


def question_page(at: int, low: bool = False) -> Page:
    """What is asked, in letters as large as fit, and what for.

    Args:
        at: which of `QUESTIONS`.
        low: True where few rows are left: what it is for then comes before large letters.
    """
    asked = QUESTIONS[at]
    name = f"{at + 1} of {len(QUESTIONS)}"
    large: tuple[PageRow, ...] = (
        () if low else (Large(asked.name, _HIGHEST), Air(), Words(asked.asked, bold=True))
    )
    rows: tuple[PageRow, ...] = (*large, Words(asked.why))
    return Page(name, rows, said="the first questions, each can be left out", reading=True)


def settled_page(answers: Mapping[str, str], path: str) -> Page:
    """What was answered.

    Args:
        answers: name of a question -> what stands now.
        path: the file that it stands in; "" if there is none.
    """
    stands = f"What was answered stands in {path}; " if path else ""
    table = Table((Column(least=9, most=9, dim=True), Column(least=8, folds=True)))
    rows: tuple[PageRow, ...] = (
        *(Cells(0, (one.name, answers.get(one.name, ""))) for one in QUESTIONS),
        Air(),
        Words(f"{stands}cartclock settings --ask asks what was left out."),
    )
    return Page("settled", rows, tables=(table,), reading=True)
