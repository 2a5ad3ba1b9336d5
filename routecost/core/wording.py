"""Small pieces of text: counts with their nouns, and what a result shows of itself at a prompt."""

from __future__ import annotations

LONGEST_REPR = 120


def counted(n: float, word: str, words: str = "") -> str:
    """
    >>> counted(1, "plate"), counted(3, "plate"), counted(2, "batch", "batches")
    ('1 plate', '3 plates', '2 batches')
    """
    return f"{n:g} {word if n == 1 else words or word + 's'}"


def short_repr(thing: object, *facts: str) -> str:
    """One line for a result however large it is: its class, and the facts that tell it from others.

    At most `LONGEST_REPR` characters.

    >>> short_repr(1.5, "17 parts", "EUR 1597.12")
    'float(17 parts, EUR 1597.12)'
    """
    text = f"{type(thing).__name__}({', '.join(fact for fact in facts if fact)})"
    return text if len(text) <= LONGEST_REPR else text[: LONGEST_REPR - 2] + "…)"
