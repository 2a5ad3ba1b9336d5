"""The main path in a few calls: read a build, plan and price the routes of its parts, rank and explain them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from routecost.bill.plan_parts import Progress as Progress
from routecost.bill.plan_parts import plan_parts
from routecost.builds.build import Build, load_build
from routecost.core.cache.store import AnswerCache, user_folder
from routecost.core.errors import Fault, InputError
from routecost.core.money import with_currency
from routecost.core.wording import counted, short_repr
from routecost.costing.estimate import Estimate
from routecost.costing.ranking import RankedPart, Ranking, rank_part
from routecost.costing.views import BY, By
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.reading.mesh_reader import read_mesh
from routecost.shop.facts import Fact
from routecost.shop.price_log import Offer
from routecost.shop.shop import Shop

if TYPE_CHECKING:
    import pandas as pd


def as_build(build: Build | str | Path) -> Build:
    return build if isinstance(build, Build) else load_build(build)


def rank(
    build: Build | str | Path,
    *,
    part: str | None = None,
    copies: int | Mapping[str, int] | None = None,
    by: By = "full",
    as_of: dt.date | None = None,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Ranking:
    """Rank the routes of every part of a build, or of one part.

    `copies` overrides the copies of every part, or of those that it names; `by` is one of full, spend,
    own-time, lead-time; `progress` is called with a part's id when it has been measured; `executor` measures
    new meshes instead of processes started for it (see `in_parallel`). Raises InputError.
    """
    build = as_build(build)
    if by not in BY:
        raise InputError.of("--by", "", f"{by!r} is not a figure to rank by", "write one of " + ", ".join(BY))
    day = as_of or build.day
    shop, tariff = build.shop(day), build.tariff(day)
    parts = [p for p in build.parts(day, copies) if part is None or p.id == part]
    if not parts:
        raise unknown_part(build, part or "")
    planned = plan_parts(parts, shop, build.routes, progress=progress, executor=executor)
    ranked, faults = [], dict[Fault, None]()
    for one, plans in zip(parts, planned, strict=True):
        try:
            ranked.append(rank_part(one, plans, tariff, build.settings.hours_a_day, by))
        except InputError as error:
            faults |= dict.fromkeys(error.faults)
    if faults:
        raise InputError(faults)
    return Ranking(tuple(ranked), tariff.currency, day, by, copies if isinstance(copies, int) else None)


def unknown_part(build: Build, part: str) -> InputError:
    ids = ", ".join(read.part.id for read in build.read_parts)
    return InputError.of(str(build.folder), "", f"there is no part {part!r}", f"the parts are {ids}")


@dataclass(frozen=True, eq=False)
class Explanation:
    """One route of one part: its alternatives, and where every rate comes from."""

    ranked: RankedPart
    estimate: Estimate
    alternatives: tuple[Estimate, ...]
    offers: dict[str, Offer]
    rates: tuple[Fact, ...]
    shop: Shop
    currency: str
    as_of: dt.date

    def __repr__(self) -> str:
        full = f"{with_currency(self.estimate.full, self.currency)} full cost"
        way = f"{self.ranked.part.id} by {self.estimate.route}"
        return short_repr(self, way, str(self.as_of), full, counted(len(self.estimate.lines), "line"))

    def frame(self) -> pd.DataFrame:
        """One row for each priced line; quantities and prices are for its `unit`, money in columns such as
        `amount_eur`."""
        import pandas as pd

        money = self.currency.lower()
        rows = [
            {
                "operation": line.operation,
                "resource": line.resource,
                "kind": line.kind,
                "quantity": line.quantity,
                "unit": line.unit,
                f"unit_price_{money}": line.unit_price,
                f"amount_{money}": line.amount,
                "why": line.why,
                "facts": " ".join(line.facts),
            }
            for line in self.estimate.lines
        ]
        return pd.DataFrame(rows)


def explain(
    build: Build | str | Path,
    part: str,
    route: str,
    *,
    copies: int | None = None,
    by: By = "full",
    as_of: dt.date | None = None,
) -> Explanation:
    """Every operation and draw of a part's route, with formulas and sources. Raises InputError."""
    build = as_build(build)
    ranking = rank(build, part=part, copies=copies, by=by, as_of=as_of)
    ranked = ranking.parts[0]
    estimate = ranked.of_route(route)
    if estimate is None:
        known = ", ".join(e.route for e in ranked.estimates)
        what = f"part {part!r} has no route {route!r}"
        raise InputError.of(str(build.folder), "", what, f"its routes are {known}")
    shop, tariff = build.shop(ranking.as_of), build.tariff(ranking.as_of)
    drawn = dict.fromkeys(line.resource for line in estimate.lines)
    offers = {r: tariff.prices.offer(r) for r in drawn if r in tariff.prices.offers}
    refs = dict.fromkeys(ref for line in estimate.lines for ref in line.facts)
    rates = tuple(shop.facts[ref] for ref in refs if ref in shop.facts)
    return Explanation(
        ranked, estimate, ranked.alternatives(route), offers, rates, shop, tariff.currency, ranking.as_of
    )


def measure(path: str | Path, unit: str | None = None) -> Shape:
    """A mesh file as a shape that answers questions: `.solid`, `.walls`, `.reach()`, `.poses`, `.fit(...)`.

    `unit` is that of the file where it states none. Raises InputError for a file that is no sound mesh.
    """
    return Shape(read_mesh(Path(path), unit=unit).mesh, AnswerCache.in_folder(user_folder()))
