"""Warnings about a fitted price law."""

from __future__ import annotations

from routecost.learning.quotes_fit import ServiceFit


def fit_notes(fit: ServiceFit) -> list[str]:
    """What to know before using the law."""
    law = fit.law
    notes = [f"suspect, left out: quotes.csv, row {s.row}: {s.what}" for s in fit.suspects]
    notes += [f"not used: {u.quote}: {u.why}" for u in fit.unused]
    if law.undetermined:
        notes.append(
            f"these quotes do not determine {', '.join(law.undetermined)} separately: only their sum is fitted, each "
            "stays as close to its price in the tables as that allows, and any value from low to high fits equally "
            "well; get a quote for a part with other proportions"
        )
    if law.hard_to_tell_apart:
        notes.append(
            f"strongly correlated in these quotes: {', '.join(law.hard_to_tell_apart)} (condition index "
            f"{law.condition:.0f}); rely on their sum only"
        )
    if len(fit.lines) <= law.rank:
        notes.append("as many coefficients as quotes, so any law fits: judge by the leave-one-out error")
    if fit.tabled_rms_error <= law.rms_error:
        notes.append(
            "the prices in the tables predict these quotes at least as well as the fitted law predicts unseen ones"
        )
    return [*notes, *fit.notes]
