"""What a person should know before using a fitted price law."""

from __future__ import annotations

from routecost.learning.quotes_fit import ServiceFit


def fit_notes(fit: ServiceFit) -> list[str]:
    """What a person should know before putting the law in force."""
    law, notes = fit.law, [f"not used: {u.quote}: {u.why}" for u in fit.unused]
    if law.untold:
        notes.append(
            f"the quotes cannot tell apart {', '.join(law.untold)}: together they fit, each is as near to its tabled "
            f"price as that allows, and low to high is all that fits as well; get a quote for a part of other "
            "proportions"
        )
    if law.hard_to_tell_apart:
        notes.append(
            f"hard to tell apart in these quotes: {', '.join(law.hard_to_tell_apart)} (condition index "
            f"{law.condition:.0f}); trust what they make together"
        )
    if len(fit.lines) <= law.rank:
        notes.append(
            "there are as many coefficients as quotes, so that any law fits: go by the left-out error"
        )
    if fit.tabled_rms_error <= law.rms_error:
        notes.append(
            "the law as tabled misses these quotes by no more than the fitted one misses what it has not seen"
        )
    return [*notes, *fit.notes]
