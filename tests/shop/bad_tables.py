"""Builds with one thing wrong each: what is changed, and words that the one message must have.

A case is (name, {file: text or None}, words); None deletes the file. The rest of the folder is sound.
"""

from __future__ import annotations

TOML = 'name = "test"\nown_rate = 10.0\n'
PARTS = "part,mesh,copies\ncube,cube.stl,1\n"
PRICES = "resource,pack,price,currency,as_of,supplier,source\n"
FACTS = "class,thing,property,value,unit,low,high,as_of,source\n"
QUOTES = "supplier,part,copies,price,currency,finish,as_of,valid_until\n"

CASES: list[tuple[str, dict[str, str | bytes | None], list[str]]] = [
    ("no settings", {"build.toml": None}, ["build.toml", "no build.toml", "routecost new"]),
    ("broken settings", {"build.toml": "name = \n"}, ["build.toml", "not readable as TOML"]),
    ("misspelt key", {"build.toml": TOML + "hours_per_day = 2\n"}, ["hours_per_day", "hours_a_day"]),
    ("rate missing", {"build.toml": 'name = "x"\n'}, ["own_rate", "missing"]),
    ("rate is text", {"build.toml": 'name = "x"\nown_rate = "ten"\n'}, ["own_rate", "'ten'"]),
    ("negative hours", {"build.toml": TOML + "hours_a_day = -1\n"}, ["hours_a_day", "-1"]),
    ("currency word", {"build.toml": TOML + 'currency = "euro"\n'}, ["currency", "'euro'"]),
    ("unknown unit", {"build.toml": TOML + 'unit = "furlong"\n'}, ["unit", "furlong"]),
    ("unknown machine", {"build.toml": TOML + '[shop]\nowns = ["lathe"]\n'}, ["lathe", "machines.csv"]),
    ("shop is no list", {"build.toml": TOML + '[shop]\nowns = "printer"\n'}, ["owns", "list"]),
    ("missing route file", {"build.toml": TOML + '[shop]\nroutes = ["my.py"]\n'}, ["my.py", "missing"]),
    (
        "broken route file",
        {"build.toml": TOML + '[shop]\nroutes = ["my.py"]\n', "my.py": "1 / 0"},
        ["my.py", "ZeroDivisionError"],
    ),
    (
        "route file without a route",
        {"build.toml": TOML + '[shop]\nroutes = ["my.py"]\n', "my.py": "x = 1"},
        ["my.py", "ROUTE"],
    ),
    ("no parts table", {"parts.csv": None}, ["parts.csv", "missing"]),
    ("empty parts table", {"parts.csv": ""}, ["parts.csv", "empty"]),
    ("no parts in it", {"parts.csv": "part,mesh\n"}, ["parts.csv", "no parts"]),
    ("unknown column", {"parts.csv": "part,mesh,copeis\ncube,cube.stl,1\n"}, ["copeis", "copies"]),
    ("column twice", {"parts.csv": "part,mesh,mesh\ncube,cube.stl,cube.stl\n"}, ["'mesh'", "twice"]),
    ("required column missing", {"parts.csv": "mesh\ncube.stl\n"}, ["'part'", "missing"]),
    ("copies of zero", {"parts.csv": "part,mesh,copies\ncube,cube.stl,0\n"}, ["row 2, column copies", "'0'"]),
    ("copies of a half", {"parts.csv": "part,mesh,copies\ncube,cube.stl,1.5\n"}, ["copies", "whole number"]),
    ("copies in words", {"parts.csv": "part,mesh,copies\ncube,cube.stl,four\n"}, ["copies", "'four'"]),
    ("copies not finite", {"parts.csv": "part,mesh,copies\ncube,cube.stl,inf\n"}, ["copies", "finite"]),
    ("load without a unit", {"parts.csv": "part,mesh,load\ncube,cube.stl,500\n"}, ["load", "500 N"]),
    ("load in a wrong unit", {"parts.csv": "part,mesh,load\ncube,cube.stl,5 mm\n"}, ["load", "'mm'"]),
    ("direction in words", {"parts.csv": "part,mesh,up\ncube,cube.stl,upwards\n"}, ["column up", "upwards"]),
    ("direction without length", {"parts.csv": "part,mesh,up\ncube,cube.stl,0 0 0\n"}, ["up", "no length"]),
    ("unknown clarity", {"parts.csv": "part,mesh,clarity\ncube,cube.stl,claer\n"}, ["clarity", "clear?"]),
    ("opaque and clear", {"parts.csv": "part,mesh,clarity,opaque\ncube,cube.stl,clear,yes\n"}, ["opaque"]),
    ("neither yes nor no", {"parts.csv": "part,mesh,opaque\ncube,cube.stl,maybe\n"}, ["opaque", "maybe"]),
    (
        "bad date",
        {"parts.csv": "part,mesh,needed_by\ncube,cube.stl,31.3.2026\n"},
        ["needed_by", "2026-03-31"],
    ),
    ("unknown route", {"parts.csv": "part,mesh,routes\ncube,cube.stl,forge\n"}, ["routes", "forge", "fdm"]),
    ("part twice", {"parts.csv": PARTS + "cube,cube.stl,2\n"}, ["row 3", "cube", "row 2"]),
    ("nothing to make", {"parts.csv": "part,mesh\ncube,\n"}, ["row 2", "nothing to make"]),
    ("mesh missing", {"parts.csv": "part,mesh\ncube,cbue.stl\n"}, ["cbue.stl", "missing", "cube.stl"]),
    ("mesh outside", {"parts.csv": "part,mesh\ncube,../../cube.stl\n"}, ["outside"]),
    ("unknown thing to buy", {"parts.csv": "part,buy\nscrew,m9\n"}, ["buy", "m9", "resources.csv"]),
    ("stray comma", {"parts.csv": "part,mesh,copies\ncube,cube.stl,1,2\n"}, ["row 2", "quotes"]),
    ("open quote", {"parts.csv": 'part,mesh\n"cube,cube.stl\n'}, ["parts.csv", "CSV"]),
    ("not text", {"parts.csv": b"part,mesh\n\xff\xfe\x00,\n"}, ["parts.csv", "UTF-8"]),
    ("two parts tables", {"parts.xlsx": b"PK"}, ["parts.xlsx", "parts.csv"]),
    (
        "unknown resource priced",
        {"prices.csv": PRICES + "pla-natrual,1 kg,20,EUR,2026-01-01,s,x\n"},
        ["pla-natrual", "pla-natural"],
    ),
    (
        "pack without a unit",
        {"prices.csv": PRICES + "pla-natural,1000,20,EUR,2026-01-01,s,x\n"},
        ["pack", "1000 g"],
    ),
    (
        "pack in a wrong unit",
        {"prices.csv": PRICES + "pla-natural,1 L,20,EUR,2026-01-01,s,x\n"},
        ["pack", "'L'", "density"],
    ),
    ("empty pack", {"prices.csv": PRICES + "pla-natural,0 kg,20,EUR,2026-01-01,s,x\n"}, ["pack", "nothing"]),
    (
        "negative price",
        {"prices.csv": PRICES + "pla-natural,1 kg,-20,EUR,2026-01-01,s,x\n"},
        ["price", "'-20'"],
    ),
    (
        "no exchange rate",
        {"prices.csv": PRICES + "pla-natural,1 kg,20,XAU,2026-01-01,s,x\n"},
        ["currency", "XAU", "exchange.csv"],
    ),
    (
        "price twice",
        {"prices.csv": PRICES + "pla-natural,1 kg,20,EUR,2026-01-01,s,x\n" * 2},
        ["row 3", "row 2"],
    ),
    (
        "unknown class",
        {"materials.csv": FACTS + "filement,a,b,1,,,,2026-01-01,x\n"},
        ["filement", "filament"],
    ),
    (
        "unknown property",
        {"materials.csv": FACTS + "filament,pla-grey,densty,1,,,,2026-01-01,x\n"},
        ["densty"],
    ),
    (
        "property without a unit",
        {"materials.csv": FACTS + "filament,pla-grey,density_g_cm3,1.2,,,,2026-01-01,x\n"},
        ["unit", "g/cm"],
    ),
    (
        "property out of range",
        {"materials.csv": FACTS + "filament,pla-grey,density_g_cm3,1200,g/cm^3,,,2026-01-01,x\n"},
        ["range"],
    ),
    (
        "low above value",
        {"materials.csv": FACTS + "filament,pla-grey,density_g_cm3,1.2,g/cm^3,1.3,1.4,2026-01-01,x\n"},
        ["low", "high"],
    ),
    (
        "new material half told",
        {"materials.csv": FACTS + "filament,hemp,density_g_cm3,1.2,g/cm^3,,,2026-01-01,x\n"},
        ["hemp", "strength_mpa"],
    ),
    ("quote for no part", {"quotes.csv": QUOTES + "s,lid,1,9,EUR,sanded,2026-01-01,2026-02-01\n"}, ["lid"]),
    (
        "quote that ends before it starts",
        {"quotes.csv": QUOTES + "s,cube,1,9,EUR,sanded,2026-02-01,2026-01-01\n"},
        ["valid_until"],
    ),
    ("stock of nothing known", {"stock.csv": "resource,amount\ngold,1 g\n"}, ["gold"]),
    ("stock in a wrong unit", {"stock.csv": "resource,amount\npla-grey,3 h\n"}, ["amount", "'h'"]),
]
