"""build.toml: settings of the whole build."""

from __future__ import annotations

import datetime as dt
import difflib
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from routecost.builds.working_time import WorkingTime, read_working_time
from routecost.core.errors import Fault, InputError
from routecost.shop.schema import column, columns_of

UNITS = ("mm", "cm", "m", "in", "ft", "um")


@dataclass(frozen=True, kw_only=True)
class Settings:
    """The keys of build.toml; those of its section [shop] are in `ShopSettings`."""

    name: str = column("name of the build")
    currency: str = column("ISO 4217 code of the currency for all amounts", default="EUR")
    unit: str = column("unit for meshes whose file and row state none", choices=UNITS, default="mm")
    own_rate: float = column("value of an hour of your own time, in the currency", low=0, high=10000)
    hours_a_day: float = column("hours of your own work on a working day", low=0.1, high=24, default=2.0)
    work_from: str = column(
        "when daily work starts, such as 18:00; default 18:00, or earlier so that it ends by 22:00",
        default="",
    )
    days_off: str = column(
        "weekdays, dates and date ranges without work, such as: sunday 2026-12-24/2027-01-02", default=""
    )
    budget: float | None = column("maximum outlay, in the currency", low=0, default=None)
    as_of: dt.date | None = column("date of the prices used; default today", default=None)
    stale_days: int = column(
        "age in days above which a price is reported as old", low=1, high=36500, default=180
    )

    @property
    def working_time(self) -> WorkingTime:
        """Hours of own work. Raises InputError, but not for settings that were read."""
        return read_working_time(self.hours_a_day, self.work_from, self.days_off)


@dataclass(frozen=True)
class ShopSettings:
    """Machines owned, and route files of the user's own."""

    owns: tuple[str, ...] = ()
    routes: tuple[str, ...] = ()


def read_settings(path: Path, faults: list[Fault]) -> tuple[Settings, ShopSettings] | None:
    """Settings of a build; faults are added to `faults`."""
    name = path.name
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        mend = f"create one, or run `routecost new {path.parent}`"
        faults.append(Fault(name, str(path.parent), "no build.toml in this folder", mend))
        return None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.append(Fault(name, "", f"not readable as TOML: {error}", "fix the line named"))
        return None
    except OSError as error:
        faults.append(Fault(name, "", f"cannot be read ({error.strerror})", "check the file"))
        return None

    before = len(faults)
    shop = _shop(raw.pop("shop", {}), name, faults)
    declared = {c.name: c for c in columns_of(Settings)}
    for key in raw.keys() - declared.keys():
        close = difflib.get_close_matches(key, [*declared, "shop"], 1)
        mend = f"did you mean {close[0]}?" if close else "the keys are " + ", ".join(declared) + " and [shop]"
        faults.append(Fault(name, f"key {key}", "unknown key", mend))
    values: dict[str, Any] = {}
    for c in declared.values():
        if c.name not in raw:
            if c.required:
                faults.append(
                    Fault(name, f"key {c.name}", "the key is missing", f"write {c.wants}: {c.meaning}")
                )
            else:
                values[c.name] = c.default
            continue
        value = raw[c.name]
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        fits = number if c.kind is float else isinstance(value, c.kind) and (number or c.kind is not int)
        in_range = not number or ((c.low is None or value >= c.low) and (c.high is None or value <= c.high))
        if not fits or not in_range or (c.choices and value not in c.choices):
            faults.append(
                Fault(name, f"key {c.name}", f"{value!r} is not valid", f"write {c.wants}: {c.meaning}")
            )
        else:
            values[c.name] = float(value) if c.kind is float else value
    currency = values.get("currency", "EUR")
    if not (isinstance(currency, str) and len(currency) == 3 and currency.isascii() and currency.isupper()):
        faults.append(
            Fault(name, "key currency", f"{currency!r} is not a currency code", "use one such as EUR")
        )
    if values.keys() >= {"hours_a_day", "work_from", "days_off"}:
        try:
            read_working_time(values["hours_a_day"], values["work_from"], values["days_off"])
        except InputError as error:
            faults += (replace(fault, file=name) for fault in error.faults)
    return (Settings(**values), shop) if len(faults) == before else None


def _shop(raw: Any, name: str, faults: list[Fault]) -> ShopSettings:
    if not isinstance(raw, dict):
        faults.append(Fault(name, "[shop]", "is not a section", "write [shop] on its own line"))
        return ShopSettings()
    lists: dict[str, tuple[str, ...]] = {"owns": (), "routes": ()}
    for key, value in raw.items():
        if key not in lists:
            faults.append(Fault(name, f"[shop] key {key}", "unknown key", "the keys are owns and routes"))
        elif not (isinstance(value, list) and all(isinstance(item, str) for item in value)):
            what = f"{value!r} is not a list of names"
            faults.append(Fault(name, f"[shop] key {key}", what, 'write it as ["a", "b"]'))
        else:
            lists[key] = tuple(value)
    return ShopSettings(**lists)
