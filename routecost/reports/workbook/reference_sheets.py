"""Inputs of the bill: prices, purchases, assumptions, cautions."""

from __future__ import annotations

from typing import Any

from routecost.buying.purchases import buy_list
from routecost.reports.workbook.book import FIRST_ROW, HEADER_ROW, Book
from routecost.routes.process.operation import OWN_HOUR


def fill_prices(b: Book, sheet: Any) -> None:
    """Unit price of every resource used: pack price / pack content. Other sheets refer to it."""
    f = b.formats
    note = f"Prices as of {b.as_of}. Change a pack price (column F) and every total is recomputed."
    columns = (
        "resource 28 | description 40 | unit 8 | unit price, ¤ 12 | pack 18 | pack price, ¤ 12 | "
        "pack content 12 | low 10 | high 10 | as of 12 | supplier 18 | source 50"
    )
    b.fill(sheet, note, columns)
    drawn = set(b.also_priced) | {
        resource
        for e in b.estimates
        for op in e.plan.operations
        for resource in (*(d.resource for d in op.usages), *((op.floor.resource,) if op.floor else ()))
    }
    row = FIRST_ROW
    for resource in sorted(drawn, key=lambda r: (r != OWN_HOUR, r)):
        n = row + 1
        sheet.write(row, 0, resource, f["strong"])
        if resource == OWN_HOUR:
            rate = b.build.settings.own_rate
            b.texts(sheet, row, "your own hour", "hour", first=1)
            sheet.write_formula(row, 3, f"=F{n}/G{n}", f["price"], rate)
            b.texts(sheet, row, "1 hour", rate, 1, first=4)
            b.texts(sheet, row, b.as_of.isoformat(), "you", "build.toml", first=9)
        else:
            offer, known = b.tariff.prices.offer(resource), b.tariff.resources[resource]
            b.texts(sheet, row, known.description, known.unit, first=1)
            sheet.write_formula(row, 3, f"=F{n}/G{n}", f["price"], offer.unit_price)
            sheet.write(row, 4, offer.pack, f["text"])
            sheet.write(row, 5, offer.pack_price, f["price"])
            sheet.write(row, 6, offer.pack_quantity, f["number"])
            b.texts(sheet, row, offer.low, offer.high, style="price", first=7)
            b.texts(sheet, row, offer.as_of.isoformat(), offer.supplier, offer.source, first=9)
        b.price_cell[resource] = f"Prices!$D${n}"
        b.pack_cell[resource] = f"Prices!$F${n}"
        row += 1


def fill_bill_purchases(b: Book, sheet: Any) -> None:
    """What the best routes need in total, minus stock, in whole packs."""
    f = b.formats
    note = (
        "Total consumption of the best routes, minus stock, in the cheapest combination of whole packs: the amount to "
        "pay. It exceeds the spend of the bill by the leftovers."
    )
    columns = (
        "resource 28 | kind 12 | need 12 | unit 8 | from stock 12 | buy 30 | supplier 24 | "
        "amount, ¤ 12 | left over 12 | for parts 60"
    )
    b.fill(sheet, note, columns)
    row = FIRST_ROW
    lines = buy_list(b.chosen, b.build.stock, b.tariff)
    for line in lines:
        sheet.write(row, 0, line.resource, f["strong"])
        sheet.write(row, 1, line.kind, f["text"])
        sheet.write(row, 2, line.need, f["number"])
        sheet.write(row, 3, line.unit, f["text"])
        sheet.write(row, 4, line.from_stock, f["number"])
        packs = ", ".join(f"{bought.packs} x {bought.offer.pack}" for bought in line.packs)
        suppliers = ", ".join(dict.fromkeys(bought.offer.supplier for bought in line.packs))
        offer = b.tariff.prices.offer(line.resource)
        b.texts(sheet, row, packs or "as used", suppliers or offer.supplier, first=5)
        if line.packs:
            terms = "+".join(f"{bought.packs}*{bought.offer.pack_price!r}" for bought in line.packs)
        else:
            terms = f"(C{row + 1}-E{row + 1})*{b.price_cell[line.resource]}" if line.amount != 0.0 else "0"
        sheet.write_formula(row, 7, f"={terms}", f["money"], line.amount)
        sheet.write(row, 8, line.left_over, f["number"])
        b.wrap(sheet, row, 9, ", ".join(line.parts))
        row += 1
    total = sum(line.amount for line in lines)
    b.texts(sheet, row, "total", *[""] * 6, style="total_text")
    sheet.write_formula(row, 7, f"=SUM(H{FIRST_ROW + 1}:H{row})", f["total"], total)


def fill_assumptions(b: Book, sheet: Any) -> None:
    """Every table row that a quantity uses."""
    note = "Rates used for the quantities, with their range and source. Replace them with rows of your own."
    columns = (
        "rate 44 | value 12 | unit 14 | low 10 | high 10 | as of 12 | meaning 60 | source 60 | "
        "file and row 34"
    )
    b.fill(sheet, note, columns)
    shop = b.build.shop(b.as_of)
    refs = {ref for e in b.estimates for line in e.lines for ref in line.facts}
    facts = [shop.facts[ref] for ref in sorted(refs) if ref in shop.facts]
    for row, fact in enumerate(facts, start=FIRST_ROW):
        value = ("yes" if fact.value else "no") if isinstance(fact.value, bool) else fact.value
        b.texts(sheet, row, fact.ref, value, fact.unit, fact.low, fact.high, fact.as_of.isoformat())
        for column, text in enumerate((fact.meaning, fact.source, fact.place), start=6):
            b.wrap(sheet, row, column, text)
    sheet.autofilter(HEADER_ROW, 0, FIRST_ROW + max(len(facts) - 1, 0), columns.count("|"))


def fill_cautions(b: Book, sheet: Any) -> None:
    """What to mind, and at which operations of what is chosen."""
    columns = "caution 18 | about 28 | text 100 | operations 70"
    b.fill(sheet, "Read these before starting. Local rules and qualified practice take precedence.", columns)
    cautions = b.build.shop(b.as_of).cautions
    where: dict[str, dict[str, None]] = {}
    for e in b.chosen:
        for op in e.plan.operations:
            for name in op.cautions:
                where.setdefault(name, {})[f"{e.plan.part}: {op.name}"] = None
    for row, name in enumerate(sorted(where), start=FIRST_ROW):
        caution = cautions[name]
        b.texts(sheet, row, name, caution.topic, style="text")
        b.wrap(sheet, row, 2, caution.text)
        b.wrap(sheet, row, 3, "; ".join(where[name]))
