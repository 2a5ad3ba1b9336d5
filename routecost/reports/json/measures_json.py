"""What a mesh measures, as a plain dictionary with stable names."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from routecost.core.arrays import Vector
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.reading.mesh_reader import Reading


def measures_json(
    reading: Reading, shape: Shape, shell_mm: float | None = None, fit_mm: Vector | None = None
) -> dict[str, Any]:
    """One object a file; lengths in mm, in the part's own frame."""
    walls, reach = shape.walls, shape.reach()
    found: dict[str, Any] = {
        "file": str(reading.file),
        "unit": reading.unit,
        "unit_source": reading.unit_source,
        "sound": True,
        "faults": list(reading.faults),
        "repairs": list(reading.repairs),
        "warnings": list(reading.warnings),
        **asdict(shape.solid),
        "thinnest_wall_mm": walls.thinnest_mm,
        "thinnest_at_mm": walls.thinnest_at_mm,
        "typical_wall_mm": walls.typical_mm,
        "thickest_mm": walls.thickest_mm,
        "reach": asdict(reach),
        "poses": [asdict(pose) for pose in shape.poses],
    }
    if shell_mm is not None:
        tallest = shape.poses[0].up
        cavity = shape.cavity(shell_mm, tallest)
        found["cavity"] = {
            "wall_mm": cavity.wall_mm,
            "volume_mm3": cavity.volume_mm3,
            "spaces": cavity.spaces,
            "height_mm": cavity.height_mm,
            "up": cavity.up,
            "peaks": cavity.peaks,
        }
    if fit_mm is not None:
        fit = shape.fit(fit_mm)
        found["fit"] = {
            "volume_mm": fit.volume_mm,
            "fits": fit.fits,
            "up": fit.up,
            "pieces": fit.pieces,
            "joints": fit.joints,
            "bond_area_mm2": fit.bond_area_mm2,
            "seam_mm": fit.seam_mm,
        }
    return found
