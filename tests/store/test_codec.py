"""Events and rows come back from the disk's form as they were, or as Unknown; the digest."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import Struct

from cartclock.engine.facts.events import (
    KINDS,
    BreakTaken,
    DamageNoted,
    JobOpened,
    MarksRevised,
    NoteWritten,
    PackOpened,
    PackWeighed,
    ReadingTaken,
    StageAdded,
    StepFinished,
    Unknown,
)
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.sealed import FORGOTTEN, Said, Sealed
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.plan.plan import Plan, Stage, Wait, Work
from cartclock.engine.press import Press
from cartclock.engine.store import codec
from cartclock.engine.trouble import StoreFault

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
INT = st.integers(-(2**63), 2**63 - 1)


def values(kind: Any) -> st.SearchStrategy[Any]:
    """Any value that a field of this msgspec type may have."""
    inspect = msgspec.inspect
    match kind:
        case inspect.StructType():
            fields = {field.name: values(field.type) for field in kind.fields}
            return st.builds(kind.cls, **fields)
        case inspect.UnionType():
            return st.one_of(*(values(one) for one in kind.types))
        case inspect.LiteralType():
            return st.sampled_from(kind.values)
        case inspect.VarTupleType():
            return st.lists(values(kind.item_type), max_size=2).map(tuple)
        case inspect.DictType():
            return st.dictionaries(TEXT, values(kind.value_type), max_size=2)
        case inspect.StrType():
            return TEXT
        case inspect.CustomType():
            assert kind.cls is Said
            sealed = st.builds(Sealed, TEXT, TEXT)
            # Whoever reads a row puts the text in; of the body alone it is not known.
            return TEXT | st.builds(Said, st.just(FORGOTTEN), sealed)
        case inspect.BoolType():
            return st.booleans()
        case inspect.IntType():
            return INT if kind.le is None else st.integers(kind.ge, kind.le)
        case inspect.FloatType():
            return st.floats(kind.ge, kind.le, allow_nan=False, allow_infinity=False)
        case inspect.NoneType():
            return st.none()
    raise AssertionError(f"no strategy for {kind}")


def row(event: Struct, **changes: Any) -> Row:
    press = Press("cart", 3)
    made = Row("cart", 4, press, "", "job-1", "me", 5, 6, 7, "boot", 8, True, "worker", event)
    return msgspec.structs.replace(made, **changes)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_comes_back(kind: str) -> None:
    comes_back(kind, 4)


@pytest.mark.long
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_comes_back_for_long(kind: str) -> None:
    comes_back(kind, 200)


def comes_back(kind: str, count: int) -> None:
    """So many events of a kind are read as they were written."""

    @settings(max_examples=count)
    @given(values(msgspec.inspect.type_info(KINDS[kind].event)))
    def back(event: Struct) -> None:
        stored = codec.encode(event)
        assert stored[:2] == (kind, KINDS[kind].v)
        assert codec.decode(*stored) == event
        assert codec.encode(codec.decode(*stored)) == stored

    back()


def test_a_whole_number_is_written_as_it_is_read_back() -> None:
    given, read = PackOpened("coat", 20), PackOpened("coat", 20.0)
    assert codec.encode(given) == codec.encode(read)
    assert '"content":20.0' in codec.encode(given)[2]
    assert isinstance(codec.decode(*codec.encode(given)).content, float)  # type: ignore[attr-defined]  # a pack
    # The first version wrote it as it was given; such a row still reads the same.
    assert codec.decode("PackOpened", 1, '{"content":20,"product":"coat"}') == read


def test_body_is_canonical() -> None:
    event = StepFinished("Coat", ("bonnet left",), Turn(1, 2, 0), Marks(60, 104, 300))
    assert codec.encode(event)[2] == (
        '{"marks":[60,104,300,null],"sections":["bonnet left"],"shared":false,"stage":"Coat",'
        '"turn":[1,2,0]}'
    )


def test_marks_of_an_older_log_have_no_mark_to_be_off_by() -> None:
    body = (
        '{"marks":[60,104,300],"sections":["bonnet left"],"shared":false,"stage":"Coat",'
        '"turn":[1,2,0]}'
    )
    event = StepFinished("Coat", ("bonnet left",), Turn(1, 2, 0), Marks(60, 104, 300, None))
    assert codec.decode("StepFinished", 1, body) == event
    revised = MarksRevised("Coat", ("bonnet left",), Turn(1, 2, 0), Marks(18, 36, 300, 72))
    assert codec.decode(*codec.encode(revised)) == revised


@settings(max_examples=200)
@given(st.sampled_from(sorted(KINDS)) | st.text(), st.integers(-3, 3), st.text())
def test_decoding_is_total(kind: str, v: int, body: str) -> None:
    event = codec.decode(kind, v, body)
    if isinstance(event, Unknown):
        assert (event.kind, event.v, event.body) == (kind, v, body)
        assert codec.encode(event) == (kind, v, body)


@pytest.mark.parametrize(
    ("kind", "v", "body"),
    [
        ("TeaTaken", 1, "{}"),
        ("BreakTaken", 3, '{"planned_s":60,"what":"rest"}'),
        ("BreakTaken", 0, '{"planned_s":60,"what":"rest"}'),
        ("BreakTaken", 1, '{"planned_s":60,"what":"nap"}'),
        ("BreakTaken", 1, '{"planned_s":60,"wh'),
        ("BreakTaken", 1, ""),
        ("BreakTaken", 1, "[" * 100_000),
        ("BreakTaken", 1, "\udc9a"),
        ("Unknown", 1, '{"kind":"a","v":1,"body":""}'),
    ],
    ids=["kind", "newer", "older", "value", "cut off", "empty", "deep", "surrogate", "Unknown"],
)
def test_what_cannot_be_read_is_unknown(kind: str, v: int, body: str) -> None:
    assert codec.decode(kind, v, body) == Unknown(kind, v, body)
    line = ("cart", 0, 0, None, None, "me", kind, v, 1, 1, 1, "b", 1, 1, "worker", body)
    assert codec.rows([line])[0].event == Unknown(kind, v, body)


def test_a_field_of_a_later_version_is_passed_over() -> None:
    body = '{"planned_s":60,"tea":true,"what":"rest"}'
    assert codec.decode("BreakTaken", 1, body) == BreakTaken("rest", 60)


@pytest.mark.parametrize(
    "event",
    [
        PackWeighed("coat", float("nan")),
        ReadingTaken(air_c=float("inf")),
        BreakTaken("nap"),  # type: ignore[arg-type] # the wrong word is the point
        DamageNoted("bonnet", "chip", Sealed("\udc9a", "")),
        StepFinished("Coat", ["bonnet"], Turn()),  # type: ignore[arg-type] # so is the list
        StageAdded(Stage("Wash", ("roof",), (Work("rinse", 1440.1),)), ""),
        StageAdded(Stage("Wash", ("roof",), (Wait("dwell", 1, 2, 366 * 86_400 + 1),)), ""),
    ],
    ids=["nan", "inf", "word", "surrogate", "list", "minutes", "seconds"],
)
def test_what_would_not_read_back_is_refused(event: Struct) -> None:
    with pytest.raises(StoreFault, match=r"^Nothing was written: .*\.$"):
        codec.encode(event)


def test_row_comes_back() -> None:
    for one in (
        row(BreakTaken("rest", 60)),
        row(BreakTaken("meal"), shift="shift-1", job="", sure=False, by="machine"),
    ):
        line = codec.stored(one, "")
        assert len(line) == len(codec.COLUMNS) == 18
        assert codec.rows([line[:16]]) == [one]


def test_digest_is_reckoned_as_documented() -> None:
    line = codec.stored(row(BreakTaken("rest", 60), worker="Łucja"), "abc")
    array = (
        '["cart",4,3,null,"job-1","Łucja","BreakTaken",2,5,6,7,"boot",8,1,"worker",'
        '"{\\"over\\":{},\\"planned_s\\":60,\\"what\\":\\"rest\\"}","abc"]'
    )
    assert json.loads(array) == list(line[:-1])
    assert line[-1] == hashlib.sha256(array.encode()).hexdigest()


def test_worker_that_is_no_text_is_refused() -> None:
    with pytest.raises(StoreFault, match="worker"):
        codec.stored(row(BreakTaken("rest"), worker="\udc9a"), "")


def test_seals_are_found() -> None:
    one, other = Sealed("a", "1"), Sealed("b", "2")
    opened = JobOpened(Plan("p", ()), "0" * 64, 1, "green estate", customer=one, phone=other)
    assert codec.seals(opened) == (one, other)
    assert codec.seals(NoteWritten(one)) == (one,)
    assert codec.seals(DamageNoted("bonnet", "chip")) == ()
    assert codec.seals(Unknown("NoteWritten", 9, "{}")) == ()


def test_every_sealed_field_of_an_event_is_known() -> None:
    known = {
        (kind.event.__name__, name)
        for kind in KINDS.values()
        for name in codec.sealed_fields(kind.event)
    }
    assert known == {
        ("JobOpened", "customer"),
        ("JobOpened", "plate"),
        ("JobOpened", "phone"),
        ("JobAmended", "text"),
        ("DamageNoted", "note"),
        ("AgreementNoted", "text"),
        ("NoteWritten", "text"),
        ("FileAttached", "path"),
        ("CallBackPromised", "who"),
        ("KeysTaken", "who"),
        ("PromiseTold", "who"),
        ("IncidentAmended", "words"),
        ("IncidentAmended", "done"),
    }


def test_seal_takes_its_secrets_from_entropy() -> None:
    text = codec.seal("Ana Quill", lambda size: bytes(range(size)))
    assert text.ref == "00010203-0405-4607-8809-0a0b0c0d0e0f"
    assert text.salt == bytes(range(32))
    assert text.sealed == Sealed(
        text.ref, hashlib.sha256(bytes(range(32)) + b"Ana Quill").hexdigest()
    )
    assert codec.seal("x").ref != codec.seal("x").ref
    with pytest.raises(StoreFault):
        codec.seal("\udc9a")
