"""The plan of a job changed at the cart: for this job, or for good as a new plan file."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.job_events import ChangeSource
from cartclock.engine.facts.stage_changes import care_change, changes_text, handover_change
from cartclock.engine.facts.standing import standing_plan
from cartclock.engine.plan.drafting import with_stage
from cartclock.engine.plan.plan import Aftercare, Handover, Plan, Stage
from cartclock.engine.rules import changes, choices, plan_changes
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.plans.choosing import behind, choose_stage
from cartclock.tui.lists.plans.customer import open_aftercare, open_handover
from cartclock.tui.lists.plans.stage import StageList
from cartclock.tui.lists.plans.windows import or_again
from cartclock.tui.lists.titles import of_job
from cartclock.tui.widgets.sheet import Line

FOR_GOOD = "G on SPACE of a stage keeps the plan for good."
NO_AFTERCARE = "The plan of this job tells no aftercare."
NO_HANDOVER = "The plan of this job names no time before a hand-over."
KEEPS = "What lies keeps its own."


def plan_lines(host: Host, job: Job, stage: str) -> list[Line]:
    """The lines of a stage on Plan by which the plan of the job is changed."""
    return [
        Line("minutes, amounts, windows ...", partial(_open_stage, host, job.id, stage), hot="w"),
        Line("do it at another place ...", partial(_open_places, host, job.id, stage)),
        Line("another stage behind it ...", partial(_open_more, host, job.id, stage)),
        Line("aftercare ...", partial(_open_aftercare, host, job.id), hot="a"),
        Line("time before the hand-over ...", partial(_open_handover, host, job.id), hot="h"),
        Line("keep this plan for good ...", partial(_open_name, host, job.id), hot="g"),
    ]


def _open_stage(host: Host, job_id: str, name: str) -> None:
    job = host.cart.bench.jobs[job_id]
    was = job.stage(name)

    def keep(stage: Stage, source: ChangeSource) -> None:
        host.cart.shelf.refuse_stage(stage, job.opened.plan)
        begun = name in job.begun
        host.cart.write(plan_changes.revise_stage, job_id, was, stage, source)
        told = f"{name}: {changes_text(was, stage)}."
        host.say(f"{KEEPS} {told}" if begun else f"{told} {FOR_GOOD}")

    StageList(host, was, job.opened.plan, keep, host.paint).open()


def _open_places(host: Host, job_id: str, name: str) -> None:
    job = host.cart.bench.jobs[job_id]

    def put(after: str) -> None:
        move = partial(host.cart.write, plan_changes.move_stage, job_id, name, after)
        or_again(host, move, partial(_open_places, host, job_id, name))

    host.sheet.open(of_job(host, job, f"{name} is done"), behind(job.stages, name, put))


def _open_more(host: Host, job_id: str, after: str) -> None:
    job = host.cart.bench.jobs[job_id]

    def picked(stage: Stage, source: Plan) -> None:
        before = standing_plan(job)
        plan = with_stage(before, stage, source, after)
        (added,) = (one for one in plan.stages if one.name not in job.order)
        products = plan.products[len(before.products) :]
        tools = plan.tools[len(before.tools) :]
        add = partial(host.cart.write, changes.add_stage, job_id, added, after, products, tools)
        or_again(host, add, partial(_open_more, host, job_id, after))

    choose_stage(host, job.opened.plan.shape, picked)


def _open_aftercare(host: Host, job_id: str) -> None:
    cares = choices.some(host.cart.bench.jobs[job_id].opened.plan.aftercare, NO_AFTERCARE)

    def take(place: int, care: Aftercare) -> None:
        was = cares[place]
        host.cart.write(plan_changes.revise_aftercare, job_id, was, care)
        host.say(f"{care.say}: {care_change(was, care)}. {FOR_GOOD}")

    open_aftercare(host, cares, take, host.paint)


def _open_handover(host: Host, job_id: str) -> None:
    was = choices.some(host.cart.bench.jobs[job_id].opened.plan.handover, NO_HANDOVER)

    def take(handover: Handover) -> None:
        host.cart.write(plan_changes.revise_handover, job_id, was, handover)
        host.say(f"Hand-over: {handover_change(was, handover)}. {FOR_GOOD}")

    open_handover(host, was, take, host.paint)


def _open_name(host: Host, job_id: str) -> None:
    """Asks what the plan is called, and writes it into a new file."""
    bench, shelf = host.cart.bench, host.cart.shelf
    job = bench.jobs[job_id]

    def named(name: str) -> None:
        plan = replace(standing_plan(job), name=name)
        before = bench.log.plan_text(job.opened.plan_sha256) or ""
        host.say(written(host, plan, before))

    title = of_job(host, job, "the plan as it is now, into a new file, called")
    host.sheet.open_text(title, named, shelf.free_name(job.opened.plan.name), proposed=True)


def written(host: Host, plan: Plan, before: str) -> str:
    """Writes a new plan file, and answers in a sentence what there is now.

    before: text of the file the plan is made of.
    """
    shelf = host.cart.shelf
    text, with_comments = shelf.new_text(plan, before)
    name = shelf.holding(text)
    if name:
        return f"The plan {name} is just that already: + on Today opens a job of it."
    path = shelf.place(text, plan.name, copy=False)
    lost = "" if with_comments or not before else " Its comments could not be kept."
    return f"The plan {path.name} is written: + on Today opens a job of it.{lost}"
