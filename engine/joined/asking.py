"""What a shop's owner asks of all carts: the views of the server, by name.

Whoever reads by another tool reads the same views (sql/views.sql).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from msgspec import Struct

if TYPE_CHECKING:
    import psycopg

# How a column is said: as it is, a length, an instant, money, a temperature.
SaidAs = Literal["text", "count", "length", "instant", "money", "degrees", "amount"]


class ShopQuestion(Struct, frozen=True):
    """A question to the shop.

    Fields:
        said: what it answers, a sentence.
        query: SQL with the days `first` and `last`, ISO 8601 texts, and those of their weeks and
            months; both ends are within.
        columns: name of each column -> how it is said.
    """

    said: str
    query: str
    columns: Mapping[str, SaidAs]


# By day in UTC: a shop may be in any zone, and a cart that is heard at all is heard often.
_HEARD = "({} AT TIME ZONE 'UTC')::date::text BETWEEN %(first)s AND %(last)s"
_LENGTHS = ("hands", "standing_by", "other", "break", "unassigned")

SHOP_QUESTIONS: Mapping[str, ShopQuestion] = {
    "hours": ShopQuestion(
        "Hours of each worker by week.",
        "SELECT shop, worker, week, shifts, clock_us,"
        f" {', '.join(f'{name}_time_us' for name in _LENGTHS)}"
        " FROM cartclock.hours_by_week WHERE week BETWEEN %(first_week)s AND %(last_week)s"
        " ORDER BY shop, week, worker",
        {
            "shop": "text",
            "worker": "text",
            "week": "text",
            "shifts": "count",
            "clock_us": "length",
            **{f"{name}_time_us": "length" for name in _LENGTHS},
        },
    ),
    "jobs": ShopQuestion(
        "Jobs opened then that are still open, and the window of each that closes first.",
        "SELECT shop, cart, number, vehicle, plan, done, sections, stage, section, closes_us,"
        " (extract(epoch FROM as_of) * 1e6)::bigint AS as_of_us"
        " FROM cartclock.open_jobs WHERE day BETWEEN %(first)s AND %(last)s"
        " ORDER BY closes_us, shop, cart, number",
        {
            "shop": "text",
            "cart": "text",
            "number": "count",
            "vehicle": "text",
            "plan": "text",
            "done": "count",
            "sections": "count",
            "stage": "text",
            "section": "text",
            "closes_us": "instant",
            "as_of_us": "instant",
        },
    ),
    "windows": ShopQuestion(
        "Every window that runs in jobs opened then, that which closes first in front.",
        "SELECT shop, cart, number, vehicle, stage, section, kind, opens_us, due_us, closes_us,"
        " (extract(epoch FROM as_of) * 1e6)::bigint AS as_of_us"
        " FROM cartclock.open_windows WHERE day BETWEEN %(first)s AND %(last)s"
        " ORDER BY closes_us, shop, cart, number, stage, section",
        {
            "shop": "text",
            "cart": "text",
            "number": "count",
            "vehicle": "text",
            "stage": "text",
            "section": "text",
            "kind": "text",
            "opens_us": "instant",
            "due_us": "instant",
            "closes_us": "instant",
            "as_of_us": "instant",
        },
    ),
    "heat": ShopQuestion(
        "Time in caution and over the limit by week; a screening estimate.",
        "SELECT shop, worker, week, shifts, caution_us, over_us, heat_rest_us, drinks_ml, peak_c"
        " FROM cartclock.heat_by_week WHERE week BETWEEN %(first_week)s AND %(last_week)s"
        " ORDER BY shop, week, worker",
        {
            "shop": "text",
            "worker": "text",
            "week": "text",
            "shifts": "count",
            "caution_us": "length",
            "over_us": "length",
            "heat_rest_us": "length",
            "drinks_ml": "count",
            "peak_c": "degrees",
        },
    ),
    "products": ShopQuestion(
        "What was used by month.",
        "SELECT shop, month, product, name, amount, unit, applied, applied_unit, jobs"
        " FROM cartclock.product_months"
        " WHERE month BETWEEN %(first_month)s AND %(last_month)s ORDER BY shop, month, name",
        {
            "shop": "text",
            "month": "text",
            "product": "text",
            "name": "text",
            "amount": "amount",
            "unit": "text",
            "applied": "amount",
            "applied_unit": "text",
            "jobs": "count",
        },
    ),
    "stock": ShopQuestion(
        "What is left of each product on each cart and in the whole shop, of carts heard then.",
        'SELECT shop, product, name, cart, "left", in_shop, unit, weighed_us, book, unclear,'
        " opened_us, lot, expires, price * 100 AS price,"
        " (extract(epoch FROM as_of) * 1e6)::bigint AS as_of_us FROM cartclock.stock"
        f" WHERE {_HEARD.format('as_of')} ORDER BY shop, name, product, unit, cart",
        {
            "shop": "text",
            "product": "text",
            "name": "text",
            "cart": "text",
            "left": "amount",
            "in_shop": "amount",
            "unit": "text",
            "weighed_us": "instant",
            "book": "amount",
            "unclear": "count",
            "opened_us": "instant",
            "lot": "text",
            "expires": "text",
            "price": "money",
            "as_of_us": "instant",
        },
    ),
    "price": ShopQuestion(
        "Planned against taken, and money by the hour of all work, of closed jobs.",
        "SELECT shop, plan, shape, count(*) AS jobs, sum(planned_us)::bigint AS planned_us,"
        " sum(hands_us)::bigint AS hands_us, sum(work_us)::bigint AS work_us,"
        " sum(money)::bigint AS money,"
        " (sum(money) * 3.6e9 / nullif(sum(work_us) FILTER (WHERE money IS NOT NULL), 0))::bigint"
        " AS an_hour FROM cartclock.job_work WHERE closed_us IS NOT NULL"
        " AND day BETWEEN %(first)s AND %(last)s GROUP BY shop, plan, shape ORDER BY shop, plan",
        {
            "shop": "text",
            "plan": "text",
            "shape": "text",
            "jobs": "count",
            "planned_us": "length",
            "hands_us": "length",
            "work_us": "length",
            "money": "money",
            "an_hour": "money",
        },
    ),
    "stages": ShopQuestion(
        "Planned against taken by stage, of closed jobs.",
        "SELECT shop, plan, shape, stage, count(*) AS jobs, sum(planned_us)::bigint AS planned_us,"
        " sum(hands_us)::bigint AS hands_us FROM cartclock.stage_work"
        " WHERE closed_us IS NOT NULL AND day BETWEEN %(first)s AND %(last)s"
        " GROUP BY shop, plan, shape, stage ORDER BY shop, plan, shape, min(nth), stage",
        {
            "shop": "text",
            "plan": "text",
            "shape": "text",
            "stage": "text",
            "jobs": "count",
            "planned_us": "length",
            "hands_us": "length",
        },
    ),
    "carts": ShopQuestion(
        "When each cart was heard last, with how many rows, and how far its clock is off.",
        "SELECT shop, cart, rows, (extract(epoch FROM heard) * 1e6)::bigint AS heard_us,"
        " skew_us / 1e6 AS skew_s, program FROM cartclock.carts_heard"
        f" WHERE {_HEARD.format('heard')} ORDER BY shop, cart",
        {
            "shop": "text",
            "cart": "text",
            "rows": "count",
            "heard_us": "instant",
            "skew_s": "amount",
            "program": "text",
        },
    ),
}
"""Name -> question, as `cartclock shop` lists them."""


def shop_answer(
    line: psycopg.Connection, name: str, first: str, last: str
) -> Sequence[dict[str, Any]]:
    """The lines that answer a question over these days, by column; KeyError for no such one."""
    from datetime import date

    question = SHOP_QUESTIONS[name]
    days = {"first": first, "last": last}
    for end, day in tuple(days.items()):
        year, week, _weekday = date.fromisoformat(day).isocalendar()
        days[f"{end}_week"] = f"{year:04}-W{week:02}"
        days[f"{end}_month"] = day[:7]
    found = line.execute(question.query.encode(), days)
    return [dict(zip(question.columns, one, strict=True)) for one in found.fetchall()]
