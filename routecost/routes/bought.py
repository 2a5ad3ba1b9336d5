"""Lines of the bill that are bought as they are: screws, magnets, sheet cut to size by a shop."""

from __future__ import annotations

from collections.abc import Iterable

from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Verdict, timed, used
from routecost.routes.process.part import Part
from routecost.shop.shop import Shop
from routecost.shop.standards import OrderingStandards


class Bought:
    """The route of a line that names what to buy; of no other."""

    id = "bought"
    name = "bought"

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        if not part.buy:
            return
        s = shop.the(OrderingStandards)
        order = Operation(
            "find, order and put away",
            (timed(s.rate("buy_line_min", "for the line")), used(part.buy, (part.copies, "copies"))),
            waiting_min=s.bought_lead_days * 24 * 60,
            waiting_facts=s.ref("bought_lead_days"),
            note=f"{s.bought_lead_days:g} days until it is delivered",
        )
        yield ProcessPlan(
            route=self.id,
            part=part.id,
            copies=part.copies,
            alternative=part.buy,
            operations=(order,),
            verdict=Verdict((Reason("suits", _what_it_says(part)),)),
            mass_g=0.0,
            chosen={"buy": part.buy},
        )


def _what_it_says(part: Part) -> str:
    """What only the seller's data sheet can answer is not judged."""
    if part.demands.load_n > 0.0:
        return f"bought as it is: see its data sheet for the {part.demands.load_n:g} N it has to carry"
    return "bought as it is"


BOUGHT = Bought()
