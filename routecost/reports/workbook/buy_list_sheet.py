"""The buy list of a plan: packs x pack price, supplier by supplier; the total is the outlay."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import groupby
from typing import Any

from routecost.api.plan_bill import Plan
from routecost.buying.buy_list import Item, from_stock
from routecost.buying.service_orders import counts_to_least, least_order, service_of
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits
from routecost.reports.workbook.book import FIRST_ROW, Book


def fill_buy_list(b: Book, sheet: Any, found: Plan, best: Totals, cells: dict[str, str]) -> None:
    """One row an order line, a sum for each supplier, and what comes from stock."""
    f = b.formats
    note = (
        "Whole packs, minus stock. Change a price on the sheet Prices, or a price or quantity here, and the totals are "
        "recomputed. Where rounded lines would not add up to the total, one line is adjusted by a minor unit."
    )
    columns = (
        "supplier 26 | resource 28 | pack 14 | quantity 11 | price, ¤ 12 | amount, ¤ 12 | "
        "price as of 12 | left over 12 | unit 8 | leftover value, ¤ 12 | shelf life, days 9 | "
        "for parts 70 | order by 12 | needed on 12"
    )
    b.fill(sheet, note, columns)
    lines = [*found.items, *_idle(b, found, best)]
    lines.sort(key=lambda i: i.supplier)
    groups = [list(some) for _supplier, some in groupby(lines, key=lambda i: i.supplier)]
    row_of = _rows(groups)
    row, sums = FIRST_ROW, []
    for some in groups:
        first = row
        for i in some:
            _item_row(b, sheet, row, i, _least_terms(i, lines, row_of, found, best))
            if days := found.order_days.get(i.resource):
                b.texts(sheet, row, days.order_by.isoformat(), days.needed_on.isoformat(), first=12)
            row += 1
        paid = _amount(b, sum(i.minor_units for i in some))
        worth = sum(i.left_over_worth for i in some)
        b.texts(sheet, row, f"{some[0].supplier} subtotal", *[""] * 4, style="total_text")
        sheet.write_formula(row, 5, f"=SUM(F{first + 1}:F{row})", f["total"], paid)
        sheet.write_formula(row, 9, f"=SUM(J{first + 1}:J{row})", f["total"], worth)
        row += 1
        sums.append(row)
    b.texts(sheet, row, "total to pay", *[""] * 4, style="total_text")
    worth = sum(i.left_over_worth for i in found.items)
    for column, letter, value, name in ((5, "F", best.outlay, "outlay"), (9, "J", worth, "left over")):
        terms = "+".join(f"{letter}{n}" for n in sums) or "0"
        sheet.write_formula(row, column, f"={terms}", f["total"], value)
        cells[name] = f"'Buy list'!${letter}${row + 1}"
    _from_stock(b, sheet, row + 2, best)


def _rows(groups: Sequence[Sequence[Item]]) -> dict[Item, int]:
    """The row of each item as spreadsheets count; each group is followed by its sum."""
    found, row = {}, FIRST_ROW + 1
    for some in groups:
        for i in some:
            found[i] = row
            row += 1
        row += 1
    return found


def _idle(b: Book, found: Plan, best: Totals) -> list[Item]:
    """Minimum charges that do not apply today, but may after a price is changed."""
    listed = {i.resource for i in found.items}
    idle = []
    for service in best.orders:
        least = least_order(service)
        if least not in listed and b.tariff.prices.offers.get(least):
            offer = b.tariff.prices.offer(least)
            parts = tuple(o.part for o in best.options if service in o.orders or service in o.charges)
            idle.append(
                Item(
                    offer.supplier,
                    least,
                    "",
                    0,
                    0.0,
                    b.tariff.unit(least),
                    0,
                    offer.as_of,
                    parts,
                    0.0,
                    0.0,
                    None,
                )
            )
    return idle


def _least_terms(
    item: Item, lines: Sequence[Item], row_of: dict[Item, int], found: Plan, best: Totals
) -> str | None:
    """For the minimum charge of an order: the cells that count towards it; None for all other items."""
    services = {least_order(service): service for service in best.orders}
    if item.resource not in services:
        return None
    service, orders = services[item.resource], found.workshop.parts_per_order
    counts = [
        f"F{row_of[i]}"
        for i in lines
        if i.resource not in services
        and service_of(i.resource, orders) == service
        and counts_to_least(i.resource)
    ]
    return "+".join(counts) or "0"


def _item_row(b: Book, sheet: Any, row: int, i: Item, least_terms: str | None) -> None:
    f, n, digits = b.formats, row + 1, minor_digits(b.currency)
    offer, price_cell = b.tariff.prices.offer(i.resource), b.price_cell[i.resource]
    paid = _amount(b, i.minor_units)
    b.texts(sheet, row, i.supplier, i.resource, i.pack or f"as used, {i.unit}")
    if i.packs:
        sheet.write(row, 3, i.packs, f["count"])
        price = paid / i.packs
        if (offer.supplier, offer.pack) == (i.supplier, i.pack):
            linked = f"=ROUND({b.pack_cell[i.resource]},{digits})"
            sheet.write_formula(row, 4, linked, f["money"], price)
        else:
            sheet.write(row, 4, price, f["money"])
        sheet.write_formula(row, 5, f"=D{n}*E{n}", f["money"], paid)
    else:
        price = b.tariff.unit_price(i.resource)
        sheet.write_formula(row, 4, f"={price_cell}", f["price"], price)
        if least_terms is None:
            sheet.write(row, 3, i.quantity, f["number"])
            exact = f"D{n}*E{n}"
        else:
            exact = f"MAX(0,E{n}-({least_terms}))"
            # the quantity follows from the missing amount
            quantity = paid / price if price else 0.0
            sheet.write_formula(row, 3, f"=IF(E{n}=0,0,F{n}/E{n})", f["number"], quantity)
        even = _even(i, price, digits)
        sheet.write_formula(row, 5, f"=ROUND({exact},{digits}){even}", f["money"], paid)
    sheet.write(row, 6, i.price_as_of.isoformat(), f["text"])
    if i.left_over:
        sheet.write(row, 7, i.left_over, f["number"])
        sheet.write(row, 8, i.unit, f["text"])
        sheet.write_formula(row, 9, f"=H{n}*{price_cell}", f["money"], i.left_over_worth)
        if i.keeps_days:
            sheet.write(row, 10, i.keeps_days, f["count"])
    b.wrap(sheet, row, 11, ", ".join(i.parts))


def _even(i: Item, price: float, digits: int) -> str:
    """The minor unit that is added to a rounded line so that all lines add up, if any."""
    missing = i.minor_units - round_half_up(i.quantity * price, digits)
    return f"{'+' if missing > 0 else '-'}{abs(missing) / 10**digits!r}" if missing else ""


def round_half_up(amount: float, digits: int) -> int:
    """In minor units, as spreadsheets round.

    >>> round_half_up(2.675, 2), round_half_up(0.5, 0)
    (268, 1)
    """
    scaled = Decimal(f"{amount:.15g}").scaleb(digits)
    return int(scaled.quantize(Decimal(1), ROUND_HALF_UP))


def _amount(b: Book, minor_units: int) -> float:
    return float(minor_units / 10 ** minor_digits(b.currency))


def _from_stock(b: Book, sheet: Any, row: int, best: Totals) -> None:
    taken = from_stock(best)
    if not taken:
        return
    b.texts(sheet, row, "from stock", style="strong")
    for s in taken:
        row += 1
        b.texts(sheet, row, "", s.resource, "in stock")
        sheet.write(row, 3, s.quantity, b.formats["number"])
        sheet.write(row, 8, s.unit, b.formats["text"])
        b.wrap(sheet, row, 11, ", ".join(s.parts))
