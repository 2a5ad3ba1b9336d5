"""Errors that teach: which file, where in it, what is wrong, and how to mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong and how to mend it.

    >>> print(Fault("parts.csv", "row 3, column copies", "'-2' is below 1", "write how many are wanted"))
    parts.csv, row 3, column copies: '-2' is below 1; write how many are wanted
    """

    file: str
    where: str
    what: str
    mend: str

    def __str__(self) -> str:
        place = f"{self.file}, {self.where}" if self.where else self.file
        return f"{place}: {self.what}; {self.mend}" if self.mend else f"{place}: {self.what}"

    def as_dict(self) -> dict[str, str]:
        return asdict(self)


class InputError(Exception):
    """Bad input, as one or more faults. A command prints them and ends with exit code 2.

    >>> InputError.of("lid.stl", "", "the file is empty", "export the mesh again").faults[0].file
    'lid.stl'
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def of(cls, file: str, where: str, what: str, mend: str) -> InputError:
        return cls([Fault(file, where, what, mend)])

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Fault, ...]]]:
        # the message is not the argument, so a worker process needs to be told how to send the error home
        return (InputError, (self.faults,))
