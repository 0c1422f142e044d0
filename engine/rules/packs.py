"""What a worker may say of the packs: opened, weighed, and what a step really took.

Packs belong to the cart: no job need be open and nobody on the clock.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.figures.measured import PACK
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.amounts import COUNTED
from cartclock.engine.plan.plan import Product
from cartclock.engine.rules.rules import Drafts, note_job
from cartclock.engine.rules.typed import refuse_price
from cartclock.engine.trouble import Refused

_LONGEST = 60
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _text(what: str, text: str) -> None:
    if len(text) > _LONGEST or not text.isprintable():
        raise Refused(f"{what} has at most {_LONGEST} characters, none of them control ones.")


def _planned(scene: Scene, product_id: str) -> list[Product]:
    """The product as the open jobs' plans have it."""
    if not product_id.strip():
        raise Refused("Say which product it is.")
    plans = [job.opened.plan for job in scene.jobs.values() if job.state == "open"]
    return [product for plan in plans for product in plan.products if product.id == product_id]


def open_pack(scene: Scene, opened: ev.PackOpened) -> Drafts:
    """A new pack stands on the cart and is the one in use from now on."""
    planned = _planned(scene, opened.product)
    if opened.unit not in COUNTED:
        raise Refused(f"{opened.unit!r} is no unit here; write ml, g, drops or each.")
    if not PACK.holds(opened.content) or not opened.content:
        raise Refused(f"A pack holds more than 0 and up to {PACK.high:.0f} {opened.unit}.")
    others = {COUNTED[product.unit]: product for product in planned}
    if others and COUNTED[opened.unit] not in others:
        product = next(iter(others.values()))
        raise Refused(
            f"The plan counts {product.name} in {product.unit}; "
            f"a pack in {opened.unit} cannot be set against that."
        )
    if opened.expires and not _is_date(opened.expires):
        raise Refused(f"{opened.expires!r} is not a date; write it like 2027-03-31.")
    refuse_price(opened.price)
    _text("A lot", opened.lot)
    _text("A name", opened.name)
    return (Draft(opened),)


def _is_date(text: str) -> bool:
    if not _DATE.fullmatch(text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def weigh(scene: Scene, weighed: ev.PackWeighed) -> Drafts:
    """What is left of a product was weighed, measured or counted: all packs of it together."""
    _planned(scene, weighed.product)
    if not PACK.holds(weighed.left):
        raise Refused(
            f"What is left is from {PACK.low:.0f} to {PACK.high:.0f}; less than nothing cannot be."
        )
    return (Draft(weighed),)


def mend_use(scene: Scene, job_id: str, by: Mapping[str, float], why: str = "") -> Drafts:
    """The amounts booked were off by so much, by product: one press for all of them."""
    if not any(by.values()):
        raise Refused("That is what is booked already.")
    drafts: list[Draft] = []
    for product, amount in by.items():
        if amount:
            drafts += note_job(scene, job_id, ev.UseCorrected(product, amount, why))
    return tuple(drafts)
