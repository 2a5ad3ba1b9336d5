"""A build whose one part is made by a route in round numbers, so that what a log teaches can be told by hand.

The part: 8 copies; a yield of 0.8 asks for 10 pulls.
"""

from __future__ import annotations

from pathlib import Path

from routecost.demo.solids import rounded_block
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_writer import write_mesh

ROUTE = """
from routecost.routes.process.operation import Usage, Operation, ProcessPlan, Verdict, own_time
from routecost.shop.machines import Printer
from routecost.shop.standards import CastingStandards, PrintingStandards


class Bench:
    id, name = "bench", "on the bench"

    def plans(self, part, shop):
        s, p = shop.the(CastingStandards), shop.the(PrintingStandards)
        printer = shop.one(Printer, "printer-220")
        pulls, rests = part.copies / s.yield_clear, s.ref("yield_clear")
        yield ProcessPlan(
            self.id, part.id, part.copies, "as ever",
            (
                Operation(
                    "print the master",
                    (
                        own_time(p.start_plate_min, "one start", p.ref("start_plate_min")),
                        Usage(printer.id, 10.0 / printer.life_h, "10 h", printer.ref("life_h")),
                        Usage(printer.id, 2.0 / printer.life_h, "2 h lost", printer.ref("life_h", "failure_per_h")),
                    ),
                    machine=printer.id,
                    machine_min=720.0,
                ),
                Operation(
                    "mix and pour",
                    (
                        own_time(pulls * s.mix_min, "mixing", (*s.ref("mix_min"), *rests)),
                        own_time(pulls * s.pour_min, "pouring", (*s.ref("pour_min"), *rests)),
                        own_time(pulls * 1.0, "what no table tells", rests),
                        Usage("epoxy-clear", pulls * 50.0, "50 g a pull", rests),
                        Usage("isopropanol", 9000.0, "no material"),
                    ),
                ),
                Operation("mix colour", (own_time(5.0, "no table"),)),
                Operation("demold", (own_time(pulls * s.demold_min, "freeing", (*s.ref("demold_min"), *rests)),)),
                Operation("sand each", (own_time(part.copies * 3.0, "3 min", ("paper-p320.min_per_10cm2",)),)),
                Operation("let it cure", waiting_min=600.0),
            ),
            Verdict(), mass_g=50.0,
        )


ROUTE = Bench()
"""
TOML = """\
name = "bench"
own_rate = 10.0
as_of = 2026-03-01

[shop]
owns = ["printer-220"]
routes = ["bench.py"]
"""
# no yield, so that nothing depends on shipped numbers
FACTS = """\
# mine
class,thing,property,value,unit,low,high,as_of,source
casting,casting,mix_min,5,min,2.5,10,2026-01-01,timed once
casting,casting,pour_min,4,min,2,8,2026-01-01,timed once
casting,casting,demold_min,6,min,3,12,2026-01-01,timed once
casting,casting,yield_clear,0.8,,0.6,0.92,2026-01-01,counted once
"""
HEADER = "date,part,route,operation,copies,minutes,grams,outcome,note\n"


def bench_build(folder: Path, log: str = "", facts: str = FACTS) -> Path:
    (folder / "meshes").mkdir(parents=True)
    write_mesh(Mesh.from_manifold(rounded_block(20, 20, 20, 2)), folder / "meshes" / "cube.stl")
    (folder / "build.toml").write_text(TOML)
    (folder / "bench.py").write_text(ROUTE)
    (folder / "parts.csv").write_text("part,mesh,copies,routes\nlid,cube.stl,8,bench\n")
    (folder / "standards.csv").write_text(facts)
    if log:
        (folder / "log.csv").write_text(HEADER + log)
    return folder
