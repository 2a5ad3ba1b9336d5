"""What a mesh measures, in a terminal."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.text import Text

from routecost.reports.text.terminal import make_table


def print_measures(found: dict[str, Any], out: Console) -> None:
    """One mesh, within 100 columns; `found` is what `measures_json` returns."""
    origins = {"file": "stated in the file", "format": "that of its format", "given": "as given"}
    origin = origins.get(found["unit_source"], "assumed")
    head = Text(found["file"], style="bold")
    head.append(f"  unit {found['unit']}, {origin}; watertight and consistent", style="not bold")
    out.print(head)
    for label in ("warnings", "faults", "repairs"):
        for text in found[label]:
            out.print(f"  {text}")
    sides = " x ".join(f"{side:.2f}" for side in found["extents_mm"])
    box = " x ".join(f"{side:.2f}" for side in found["smallest_box_mm"])
    reach = found["reach"]
    rows = [
        ("extents", f"{sides} mm"),
        ("smallest box", f"{box} mm"),
        ("volume", f"{found['volume_mm3'] / 1000:,.3f} cm³"),
        ("surface", f"{found['area_mm2'] / 100:,.2f} cm²"),
        ("bodies, faces", f"{found['bodies']}, {found['faces']:,}"),
        ("closed voids", f"{found['closed_voids']}, {found['closed_void_volume_mm3'] / 1000:,.3f} cm³"),
        (
            "wall",
            f"thinnest {found['thinnest_wall_mm']:.2f} mm, typical {found['typical_wall_mm']:.2f} mm, "
            f"thickest section {found['thickest_mm']:.2f} mm",
        ),
        (
            "reach",
            f"block {reach['block']:.0%}, fingertip or rod {reach['finger']:.0%}, "
            f"nothing {reach['none']:.0%}",
        ),
    ]
    if "cavity" in found:
        c = found["cavity"]
        rows.append(
            (
                f"cavity, wall {c['wall_mm']:g} mm",
                f"{c['volume_mm3'] / 1000:,.3f} cm³ in {c['spaces']} spaces, {c['height_mm']:.1f} mm high",
            )
        )
    if "fit" in found:
        f = found["fit"]
        into = " x ".join(f"{side:g}" for side in f["volume_mm"])
        whole = (
            "fits in one piece"
            if f["fits"]
            else f"in {f['pieces']} pieces with {f['joints']} joints, {f['bond_area_mm2'] / 100:.2f} cm² of bonds"
        )
        rows.append((f"in {into} mm", whole))
    for name, value in rows:
        out.print(f"  {name:<22}{value}")
    volumes = ("support\ncm³", "trapped, two-\npart cm³", "trapped,\nopen cm³")
    numbers = ("up", "height\nmm", "overhang\ncm²", *volumes, "peaks")
    table = make_table(*numbers, "flat\ntop", numbers=numbers)
    for pose in found["poses"]:
        table.add_row(
            " ".join(f"{x:.2f}".replace("-0.00", "0.00") for x in pose["up"]),
            f"{pose['height_mm']:.1f}",
            f"{pose['overhang_area_mm2'] / 100:.2f}",
            f"{pose['support_volume_mm3'] / 1000:.2f}",
            f"{pose['trapped_two_part_mm3'] / 1000:.2f}",
            f"{pose['trapped_open_mm3'] / 1000:.2f}",
            str(pose["peaks"]),
            "yes" if pose["flat_opening"] else "no",
        )
    out.print(table)
