"""The plan of a whole bill as a workbook: routes, buy list, timetable, and trade-offs with other plans.

Its outlay is the total of the buy list, in whole packs; change a price or a number of packs and it is recomputed.
"""

from __future__ import annotations

from pathlib import Path

from routecost.api.plan_bill import Plan
from routecost.buying.service_orders import least_order, without_shares
from routecost.buying.totals import Totals
from routecost.core.errors import InputError
from routecost.costing.estimate import Estimate, price_plans
from routecost.reports.workbook.book import Book, Fill, workbook, write_book
from routecost.reports.workbook.buy_list_sheet import fill_buy_list
from routecost.reports.workbook.operation_sheet import fill_operations
from routecost.reports.workbook.outlook_sheets import fill_timetable, fill_tradeoffs
from routecost.reports.workbook.plan_sheet import ORDER, fill_plan
from routecost.reports.workbook.reference_sheets import fill_assumptions, fill_cautions, fill_prices
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage, Verdict


def write_plan_workbook(found: Plan, path: Path) -> Path:
    """Write the plan, its buy list, timetable, trade-offs, operations and their inputs. Returns the path."""
    return write_book(path, lambda: plan_workbook_bytes(found))


def plan_workbook_bytes(found: Plan) -> bytes:
    """The workbook as bytes; the same plan gives the same bytes. Raises InputError where there is no plan."""
    best = found.totals
    if best is None:
        what, mend = "no plan meets all limits, so there is nothing to write", "relax a limit"
        raise InputError.of("plan", "", what, mend)
    estimates = _estimates(found, best)
    cells: dict[str, str] = {}  # totals of one sheet that others refer to, by name
    sheets: dict[str, Fill] = {
        "Plan": lambda b, sheet: fill_plan(b, sheet, found, best, cells),
        "Buy list": lambda b, sheet: fill_buy_list(b, sheet, found, best, cells),
        "Timetable": lambda b, sheet: fill_timetable(b, sheet, found, cells),
        "Trade-offs": lambda b, sheet: fill_tradeoffs(b, sheet, found, best, cells),
        "Operations": fill_operations,
        "Prices": fill_prices,
        "Assumptions": fill_assumptions,
        "Cautions": fill_cautions,
    }
    priced = (OWN_HOUR, *(line.resource for line in best.buy), *_least_orders(found, best))
    return workbook(
        lambda file: Book(file, found.build, found.day, estimates, estimates, priced),
        sheets,
        title=found.build.settings.name,
        as_of=found.day,
    )


def _estimates(found: Plan, best: Totals) -> tuple[Estimate, ...]:
    """Each part without its shares of orders, and each order once."""
    shop = found.workshop
    plans = [without_shares(o.plan, shop.parts_per_order).plan for o in best.options]
    plans += [_order(service, best) for service in best.orders]
    amounts = price_plans(plans, shop.tariff, shop.hours_a_day)
    return tuple(amounts.estimate(i) for i in range(len(plans)))


def _order(service: str, best: Totals) -> ProcessPlan:
    takes: dict[str, float] = {}
    for o in best.options:
        for resource, quantity in o.orders.get(service, {}).items():
            takes[resource] = max(quantity, takes.get(resource, 0.0))
    usages = tuple(Usage(r, q, "once for all parts in the order") for r, q in takes.items())
    return ProcessPlan(ORDER, service, 1, "", (Operation("order", usages),), Verdict(), mass_g=0.0)


def _least_orders(found: Plan, best: Totals) -> tuple[str, ...]:
    least = (least_order(service) for service in best.orders)
    return tuple(r for r in least if found.workshop.tariff.prices.offers.get(r))
