"""A price added to the log, as a plain dictionary with stable names."""

from __future__ import annotations

from typing import Any

from routecost.builds.price_entry import AddedPrice


def added_json(added: AddedPrice) -> dict[str, Any]:
    row = added.placed.row
    return {
        "file": str(added.path),
        "row": added.placed.number,
        "resource": row.resource,
        "pack": row.pack,
        "price": row.price,
        "currency": row.currency,
        "low": row.low,
        "high": row.high,
        "as_of": row.as_of.isoformat(),
        "expires": row.expires.isoformat() if row.expires else None,
        "supplier": row.supplier,
        "source": row.source,
        "replaces_shipped": added.replaces_shipped,
    }
