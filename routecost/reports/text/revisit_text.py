"""A saved plan looked at again, in a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from routecost.api.revisit import Revisit
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.comparing.option_diff import told
from routecost.reports.text.plan_text import indented, print_begun, print_plan
from routecost.reports.wording.formats import hours
from routecost.reports.wording.plan_sentences import LIMIT_TEXT

MOST = 20
"""Things that moved which are told; the rest is counted."""


def print_revisit(found: Revisit, out: Console, names: dict[str, str], *, days: int | None = 7) -> None:
    """What has moved, what is kept, whether to switch; then the plan of today."""
    c = found.now.workshop.tariff.currency
    saved = found.saved
    out.print(
        f"The plan saved for {saved.day} (outlay {shown(saved.outlay, c)}, full cost {shown(saved.full, c)}, "
        f"{saved.own_hours:.1f} own hours), looked at again with the prices of {found.now.day}."
    )
    out.print(Text("\nWhat has moved since", style="bold"))
    if not found.plan_changes:
        out.print("Nothing that it rests on.")
    for m in found.plan_changes[:MOST]:
        out.print(indented(m.text))
    if len(found.plan_changes) > MOST:
        out.print(f"  and {len(found.plan_changes) - MOST} more")
    _print_kept(found, out)
    _print_advice(found, out, c, names)
    out.print(Text("\nThe best plan for the rest, today", style="bold"))
    print_plan(found.now, out, names, days=days)


def _print_kept(found: Revisit, out: Console) -> None:
    now = found.now
    if not now.in_progress and not now.done:
        return
    out.print(Text("\nWhat is kept", style="bold"))
    print_begun(now, out)
    for part, n in now.done.items():
        out.print(f"  {n} x {part}: done")
    out.print(
        "What has been bought since counts once it stands in stock.csv. The budget is held against what is still to "
        "be paid: --budget sets it anew."
    )


def _print_advice(found: Revisit, out: Console, c: str, names: dict[str, str]) -> None:
    out.print(Text("\nCarry on or switch?", style="bold"))
    now, stay = found.now.totals, found.stay
    if now is None:
        out.print("There is no plan within the limits for what is left.")
        return
    if stay is None:
        gone = ", ".join(found.gone)
        out.print(f"The saved plan does not tell how to make {gone} now: take the plan below.")
        return
    for part, changed in found.nearest:
        told_ = "; ".join(f"{name} {b or 'none'}, was {a or 'none'}" for name, a, b in changed)
        out.print(Text(f"Carried on as nearly as it can be, {part}: {told_}"))
    out.print(f"Carrying on:    {_sums(stay, c)}")
    out.print(f"Best plan now:  {_sums(now, c)}")
    if found.breaks:
        out.print("Carrying on would break " + ", ".join(LIMIT_TEXT[name] for name in found.breaks) + ".")
    if not found.is_worth_switching:
        out.print(Text("Carry on: no other plan is better.", style="bold"))
        return
    objective = found.now.request.objective.name
    saved = hours(found.saves) if objective == "own-time" else f"{shown(found.saves, c)} {c}"
    out.print(
        Text(f"Switching saves {saved} of what the plan makes least. It makes otherwise:", style="bold")
    )
    for was, is_ in found.switched:
        out.print(indented(f"{is_.part}: {told(was, is_, names)}"))


def _sums(totals: Totals, c: str) -> str:
    return f"outlay {shown(totals.outlay, c)}, full cost {shown(totals.full, c)}, {totals.own_hours:.1f} own hours"
