"""What meshes measure: `measure`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.builds.settings import UNITS
from routecost.builds.size_check import PartSize, size_warnings
from routecost.commands.command import Command
from routecost.commands.command_options import print_json, progress
from routecost.core.cache.store import AnswerCache, user_folder
from routecost.core.errors import Fault, InputError
from routecost.core.files import write_for_user
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.measuring.splitting import split_mesh
from routecost.mesh.reading.mesh_reader import read_mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from routecost.mesh.rendering.marking import marked
from routecost.mesh.rendering.pictures import picture
from routecost.reports.json.measures_json import measures_json
from routecost.reports.text.measures_text import print_measures
from routecost.reports.text.terminal import console


def _measure_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("meshes", nargs="+", metavar="MESH")
    made.add_argument("--unit", choices=UNITS, help="unit of files that state none (mm if left out)")
    made.add_argument("--shell", metavar="MM", type=float, help="also the cavity of a shell of this wall")
    made.add_argument("--fit", metavar="X,Y,Z", help="also how it goes into a build volume, in mm")
    made.add_argument("--pieces", metavar="FOLDER", help="with --fit: write the pieces there as STL")
    made.add_argument("--picture", metavar="FILE.png", help="write a picture of the (one) mesh")
    made.add_argument("--shade", choices=("overhang", "thin", "unreachable"), help="mark it in the picture")


def _measure(options: argparse.Namespace) -> int:
    fit = _volume(options.fit)
    if options.shell is not None and not 0.0 < options.shell < 1000.0:
        raise InputError.of("command line", "--shell", f"{options.shell} is not a wall", "write mm above 0")
    for flag, needs, name in (("pieces", "fit", "--fit X,Y,Z"), ("shade", "picture", "--picture FILE.png")):
        if getattr(options, flag) and not getattr(options, needs):
            raise InputError.of("command line", f"--{flag}", f"goes with {name}", f"add {name}")
    if options.picture and len(options.meshes) > 1:
        raise InputError.of("command line", "--picture", "goes with one mesh", "name one mesh")
    sizes: list[PartSize] = []
    kept, faults, found = AnswerCache.in_folder(user_folder()), list[Fault](), []
    with progress("measuring") as tick:
        for file in options.meshes:
            try:
                reading = read_mesh(Path(file), unit=options.unit)
            except InputError as error:
                faults += error.faults
                continue
            shape = Shape(reading.mesh, kept)
            found.append(measures_json(reading, shape, options.shell, fit))
            is_stated = reading.unit_source in ("file", "given")
            sizes.append(PartSize(str(len(sizes)), shape.solid.extents_mm, reading.unit, is_stated))
            tick(Path(file).name)
            if options.picture:
                _picture(shape, Path(options.picture), options.shade)
            if options.pieces and fit is not None:
                _pieces(shape, fit, Path(options.pieces), Path(file).stem)
    if faults:
        raise InputError(faults)
    for number, text in size_warnings(sizes, max(fit) if fit else None).items():
        found[int(number)]["warnings"].append(text)
    if options.json:
        return print_json(found)
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
    marks = marked(shape.mesh, shade) if shade else None
    # overhangs are seen from below only
    write_for_user(path, picture(shape.mesh, size_px=600, marks=marks, from_below=shade == "overhang"))


def _pieces(shape: Shape, fit: tuple[float, float, float], folder: Path, stem: str) -> None:
    for number, piece in enumerate(split_mesh(shape.mesh, fit), start=1):
        write_mesh(piece, folder / f"{stem}-{number}.stl")


COMMANDS = {"measure": Command(_measure_options, _measure)}
