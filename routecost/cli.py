"""The command line: a thin face. A command imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from routecost import cli_learning, cli_moving
from routecost.builds.settings import UNITS
from routecost.costing.views import BY
from routecost.errors import Fault, InputError

if TYPE_CHECKING:
    import datetime as dt

    from routecost.parts.shape import Shape


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit code is 0, 2 for bad input, 130 when interrupted."""
    words = list(sys.argv[1:] if argv is None else argv)
    as_json = "--json" in words
    try:
        options = _parser().parse_args(words)
        command: Callable[[argparse.Namespace], int] = options.run
        return command(options)
    except InputError as error:
        _tell(error.faults, as_json)
        return 2
    except KeyboardInterrupt:
        print("interrupted; what was measured is kept", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # the reader has gone, as with `| head`; a second failure at exit must not be shown either
        sys.stdout = None
        return 0


class _Parser(argparse.ArgumentParser):
    """Usage mistakes are told like every other mistake."""

    def error(self, message: str) -> NoReturn:
        raise InputError.of("command line", self.prog, message, f"see `{self.prog} --help`")


def _tell(faults: Sequence[Fault], as_json: bool) -> None:
    if as_json:
        from routecost.reports.as_json import faults_json

        print(json.dumps(faults_json(tuple(faults)), indent=1))
        return
    for fault in faults:
        print(f"error: {fault}", file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="routecost",
        description="Decides, part by part and for the whole bill, how to make a one-off build: printed, "
        "shell-filled, cast, ordered or bought; with money, own hours and what to buy.",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int], about: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = commands.add_parser(name, help=about, description=about)
        made.add_argument("--json", action="store_true", help="write JSON for other programs")
        made.set_defaults(run=run)
        return made

    demo = command("demo", _demo, "write the demo build (an invented ant-habitat exhibit) and rank it")
    demo.add_argument("folder", nargs="?", default="ant-habitat", metavar="FOLDER")

    new = command("new", _new, "start a build: a commented starter, or a parts table made from meshes")
    new.add_argument("folder", metavar="FOLDER")
    new.add_argument("--meshes", metavar="FOLDER", help="a folder of meshes to copy in and list")

    measure = command("measure", _measure, "read meshes and tell what they measure")
    measure.add_argument("meshes", nargs="+", metavar="MESH")
    measure.add_argument("--unit", choices=UNITS, help="unit of files that state none (mm if left out)")
    measure.add_argument("--shell", metavar="MM", type=float, help="also the cavity of a shell of this wall")
    measure.add_argument("--fit", metavar="X,Y,Z", help="also how it goes into a build volume, in mm")
    measure.add_argument("--pieces", metavar="FOLDER", help="with --fit: write the pieces there as STL")
    measure.add_argument("--picture", metavar="FILE.png", help="write a picture of the (one) mesh")
    measure.add_argument(
        "--shade", choices=("overhang", "thin", "unreachable"), help="mark it in the picture"
    )

    def build_command(
        name: str, run: Callable[[argparse.Namespace], int], about: str
    ) -> argparse.ArgumentParser:
        made = command(name, run, about)
        made.add_argument("build", metavar="BUILD", help="the build's folder")
        return made

    def ranking_options(made: argparse.ArgumentParser) -> None:
        made.add_argument("--copies", type=int, metavar="N", help="so many of each part instead")
        made.add_argument(
            "--by", choices=BY, default="full", help="the figure that decides (full cost if left out)"
        )
        made.add_argument("--as-of", metavar="DATE", help="use the prices of that day, such as 2026-03-31")

    ranked = build_command("rank", _rank, "rank the routes of every part by cost, hours or lead time")
    ranked.add_argument("--part", metavar="ID", help="this part only")
    ranking_options(ranked)

    explain = build_command("explain", _explain, "every operation, quantity, price and source of one route")
    explain.add_argument("part", metavar="PART")
    explain.add_argument("route", metavar="ROUTE")
    explain.add_argument("--all", action="store_true", help="also the alternatives inside the route")
    ranking_options(explain)

    risk = build_command(
        "risk", _risk, "how sure the answer is: chances, percentiles, what drives the spread"
    )
    risk.add_argument(
        "--draws", type=int, default=10_000, metavar="N", help="sampled worlds (10000 if left out)"
    )
    risk.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed gives the same numbers")
    risk.add_argument(
        "--law", choices=("triangular", "pert"), default="triangular", help="between low and high"
    )
    ranking_options(risk)

    cli_moving.add_commands(build_command)
    cli_learning.add_commands(build_command)

    build_command("check", _check, "tell everything that is wrong in a build's folder, all at once")

    export = build_command(
        "export", _export, "write the bill as a workbook whose formulas compute the totals"
    )
    export.add_argument("file", metavar="FILE.xlsx")
    ranking_options(export)

    tables = command("tables", _tables, "tell what the columns of every table mean")
    tables.add_argument("table", nargs="?", metavar="TABLE", help="one table, such as prices.csv")

    page = command("page", _page, "open the page in a browser")
    page.add_argument("build", nargs="?", metavar="BUILD", help="the build's folder (the demo if left out)")
    page.add_argument("--port", type=int, metavar="N", help="port to listen on")
    page.add_argument("--no-browser", action="store_true", help="serve only")
    return parser


def _json(found: Any) -> int:
    print(json.dumps(found, indent=1))
    return 0


def _day(text: str | None) -> dt.date | None:
    import datetime as dt

    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        mend = "write it as year-month-day, such as 2026-03-31"
        raise InputError.of("command line", "--as-of", f"{text!r} is not a date", mend) from None


def _copies(n: int | None) -> int | None:
    if n is not None and not 1 <= n <= 100_000:
        raise InputError.of("command line", "--copies", f"{n} is out of range", "write 1 to 100000")
    return n


@contextmanager
def _progress(what: str) -> Iterator[Callable[[str], None]]:
    """A progress bar on the error stream while a person watches; else silence."""
    if not sys.stderr.isatty():
        yield lambda _name: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn(what), BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)
        yield lambda name: bar.update(task, advance=1, description=name)


def _rank(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.job import rank
    from routecost.reports.as_json import ranking_json

    with _progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build,
            part=options.part,
            copies=_copies(options.copies),
            by=options.by,
            as_of=_day(options.as_of),
            progress=tick,
        )
    if options.json:
        return _json(ranking_json(ranking))
    from routecost.builds.stale import stale_summary
    from routecost.moving import stale
    from routecost.reports.terminal import console, print_notes, print_ranking

    out = console()
    print_notes(build, out)
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    if old := stale_summary(stale(build, ranking)):
        out.print(f"note: {old}")
    return 0


def _explain(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.job import explain
    from routecost.reports.as_json import explanation_json

    build = load_build(options.build)
    with _progress("measuring"):
        found = explain(
            build,
            options.part,
            options.route,
            copies=_copies(options.copies),
            by=options.by,
            as_of=_day(options.as_of),
        )
    if options.json:
        return _json(explanation_json(found, options.all))
    from routecost.reports.terminal import console, print_explanation

    names = {route.id: route.name for route in build.routes}
    print_explanation(found, console(), names[options.route], every=options.all)
    return 0


def _risk(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.costing.risk import assess
    from routecost.job import rank
    from routecost.reports.sure import print_risk, risk_json

    if not 100 <= options.draws <= 1_000_000:
        raise InputError.of(
            "command line", "--draws", f"{options.draws} is out of range", "write 100 to 1000000"
        )
    if options.seed < 0:
        raise InputError.of("command line", "--seed", f"{options.seed} is below 0", "write 0 or more")
    with _progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build, copies=_copies(options.copies), by=options.by, as_of=_day(options.as_of), progress=tick
        )
    found = assess(
        ranking,
        build.tariff(ranking.as_of),
        build.shop(ranking.as_of),
        budget=build.settings.budget,
        draws=options.draws,
        seed=options.seed,
        law=options.law,
    )
    if options.json:
        return _json(risk_json(found))
    from routecost.reports.terminal import console

    print_risk(found, console(), {route.id: route.name for route in build.routes})
    return 0


def _check(options: argparse.Namespace) -> int:
    from routecost.builds.build import inspect_build
    from routecost.job import rank

    with _progress("reading and measuring") as tick:
        build, faults = inspect_build(options.build, on_read=tick)
        if faults or build is None:
            raise InputError(faults)
        rank(build)  # finds the prices that are missing for what the routes would use
    notes = [str(note) for note in build.warnings]
    if options.json:
        return _json({"build": build.settings.name, "parts": len(build.read_parts), "notes": notes})
    for note in notes:
        print(f"note: {note}")
    print(f"{build.settings.name}: {len(build.read_parts)} parts, nothing wrong")
    return 0


def _export(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.job import rank
    from routecost.reports.workbook import write_workbook

    with _progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build, copies=_copies(options.copies), by=options.by, as_of=_day(options.as_of), progress=tick
        )
    path = write_workbook(build, ranking, Path(options.file))
    if options.json:
        return _json({"file": str(path)})
    print(f"wrote {path}")
    return 0


def _measure(options: argparse.Namespace) -> int:
    from routecost.parts.kept import Kept, user_folder
    from routecost.parts.reading import read_mesh
    from routecost.parts.shape import Shape
    from routecost.reports.measuring import measures_json, print_measures

    fit = _volume(options.fit)
    if options.shell is not None and not 0.0 < options.shell < 1000.0:
        raise InputError.of("command line", "--shell", f"{options.shell} is not a wall", "write mm above 0")
    for flag, needs, name in (("pieces", "fit", "--fit X,Y,Z"), ("shade", "picture", "--picture FILE.png")):
        if getattr(options, flag) and not getattr(options, needs):
            raise InputError.of("command line", f"--{flag}", f"goes with {name}", f"add {name}")
    if options.picture and len(options.meshes) > 1:
        raise InputError.of("command line", "--picture", "goes with one mesh", "name one mesh")
    kept, faults, found = Kept.in_folder(user_folder()), list[Fault](), []
    with _progress("measuring") as tick:
        for file in options.meshes:
            try:
                reading = read_mesh(Path(file), unit=options.unit)
            except InputError as error:
                faults += error.faults
                continue
            shape = Shape(reading.mesh, kept)
            found.append(measures_json(reading, shape, options.shell, fit))
            tick(Path(file).name)
            if options.picture:
                _picture(shape, Path(options.picture), options.shade)
            if options.pieces and fit is not None:
                _pieces(shape, fit, Path(options.pieces), Path(file).stem)
    if faults:
        raise InputError(faults)
    if options.json:
        return _json(found)
    from routecost.reports.terminal import console

    for one in found:
        print_measures(one, console())
    return 0


def _volume(text: str | None) -> tuple[float, float, float] | None:
    if text is None:
        return None
    try:
        x, y, z = (float(side) for side in text.split(","))
    except ValueError:
        x = y = z = 0.0
    if not all(0.0 < side < 1e6 for side in (x, y, z)):
        what = f"{text!r} is not a build volume"
        raise InputError.of("command line", "--fit", what, "write three sides in mm, such as 220,220,250")
    return (x, y, z)


def _picture(shape: Shape, path: Path, shade: str | None) -> None:
    from routecost.files import write_for_user
    from routecost.parts.marking import marked
    from routecost.parts.pictures import picture

    marks = marked(shape.mesh, shade) if shade else None
    # overhangs are seen from below only
    write_for_user(path, picture(shape.mesh, size_px=600, marks=marks, from_below=shade == "overhang"))


def _pieces(shape: Shape, fit: tuple[float, float, float], folder: Path, stem: str) -> None:
    from routecost.parts.splitting import split_mesh
    from routecost.parts.writing import write_mesh

    for number, piece in enumerate(split_mesh(shape.mesh, fit), start=1):
        write_mesh(piece, folder / f"{stem}-{number}.stl")


def _new(options: argparse.Namespace) -> int:
    from routecost.builds.starter import start_build

    made = start_build(Path(options.folder), Path(options.meshes) if options.meshes else None)
    if options.json:
        return _json({"folder": str(options.folder), "files": [str(path) for path in made]})
    for path in made:
        print(f"wrote {path}")
    print(f"next: edit {options.folder}/parts.csv, then `routecost check {options.folder}`")
    return 0


def _demo(options: argparse.Namespace) -> int:
    from routecost.demo.build import write_demo
    from routecost.job import rank
    from routecost.reports.as_json import ranking_json
    from routecost.reports.workbook import write_workbook

    folder = Path(options.folder)
    with _progress("measuring") as tick:
        build = write_demo(folder)
        ranking = rank(build, progress=tick)
    workbook = write_workbook(build, ranking, folder / "bill.xlsx")
    if options.json:
        return _json(ranking_json(ranking))
    from routecost.reports.terminal import console, print_ranking

    out = console()
    out.print(f"{build.settings.name}: everything in this demo is invented. Written to {folder}/")
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    out.print(f"\nworkbook:  {workbook}")
    out.print(f"why:       routecost explain {folder} {ranking.parts[0].part.id} mold-casting")
    out.print(f"page:      routecost page {folder}")
    return 0


def _tables(options: argparse.Namespace) -> int:
    from routecost.reports.table_docs import print_tables, tables_json

    if options.json:
        return _json(tables_json(options.table))
    from routecost.reports.terminal import console

    print_tables(console(), options.table)
    return 0


def _page(options: argparse.Namespace) -> int:
    from routecost.page.serve import serve

    return serve(options.build, options.port, browser=not options.no_browser)


if __name__ == "__main__":
    sys.exit(main())
