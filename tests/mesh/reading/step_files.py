"""STEP files of bodies with flat faces, written after ISO 10303-21 and 10303-42 for the tests to read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routecost.core.arrays import Floats

_UNITS = {
    "mm": "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))",
    "m": "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.))",
}
_HEADER = (
    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
    "FILE_NAME('part','2024-01-01T00:00:00',(''),(''),'','','');\n"
    "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n"
)


def step_file(vertices: Floats, polygons: Sequence[Sequence[int]], unit: str = "mm") -> str:
    """A solid of flat outward polygons; `unit` is mm, m or in."""
    lines: list[str] = []

    def add(text: str) -> str:
        lines.append(f"#{len(lines) + 1}={text};\n")
        return f"#{len(lines)}"

    def point(p: Floats) -> str:
        return add("CARTESIAN_POINT('',({}))".format(",".join(f"{c:.12E}" for c in p)))

    def direction(d: Floats) -> str:
        d = d / np.linalg.norm(d)
        return add("DIRECTION('',({}))".format(",".join(f"{c:.12E}" for c in d)))

    definition, context = _product(add, unit)
    corners = [point(v) for v in vertices]
    ends = [add(f"VERTEX_POINT('',{corner})") for corner in corners]
    edges: dict[tuple[int, int], str] = {}
    faces = []
    for polygon in polygons:
        oriented = []
        for a, b in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
            low, high = min(a, b), max(a, b)
            if (low, high) not in edges:
                vector = add(f"VECTOR('',{direction(vertices[high] - vertices[low])},1.)")
                line = add(f"LINE('',{corners[low]},{vector})")
                edges[low, high] = add(f"EDGE_CURVE('',{ends[low]},{ends[high]},{line},.T.)")
            oriented.append(add(f"ORIENTED_EDGE('',*,*,{edges[low, high]},{'.T.' if a < b else '.F.'})"))
        p = vertices[list(polygon)]
        normal, along = np.cross(p[1] - p[0], p[2] - p[1]), p[1] - p[0]
        place = add(f"AXIS2_PLACEMENT_3D('',{corners[polygon[0]]},{direction(normal)},{direction(along)})")
        plane = add(f"PLANE('',{place})")
        bound = add(
            f"FACE_OUTER_BOUND('',{add('EDGE_LOOP(' + repr('') + ',(' + ','.join(oriented) + '))')},.T.)"
        )
        faces.append(add(f"ADVANCED_FACE('',({bound}),{plane},.T.)"))
    shell = add(f"CLOSED_SHELL('',({','.join(faces)}))")
    body = add(f"MANIFOLD_SOLID_BREP('',{shell})")
    z, x = direction(np.array([0.0, 0, 1])), direction(np.array([1.0, 0, 0]))
    origin = add(f"AXIS2_PLACEMENT_3D('',{point(np.zeros(3))},{z},{x})")
    shape = add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({origin},{body}),{context})")
    add(f"SHAPE_DEFINITION_REPRESENTATION({definition},{shape})")
    return _HEADER + "".join(lines) + "ENDSEC;\nEND-ISO-10303-21;\n"


def _product(add, unit: str) -> tuple[str, str]:  # type: ignore[no-untyped-def]
    """The product's shape definition and the geometric context with its units."""
    application = add("APPLICATION_CONTEXT('automotive design')")
    add(f"APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,{application})")
    product_context = add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    product = add(f"PRODUCT('part','part','',({product_context}))")
    formation = add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    design = add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
    definition = add(f"PRODUCT_DEFINITION('design','',{formation},{design})")
    shape = add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    if unit == "in":
        mm = add(_UNITS["mm"])
        exponents = add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)")
        inch = add(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{mm})")
        length = add(f"(CONVERSION_BASED_UNIT('INCH',{inch})LENGTH_UNIT()NAMED_UNIT({exponents}))")
    else:
        length = add(_UNITS[unit])
    angle = add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid_angle = add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    accuracy = add(
        f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),{length},'distance_accuracy_value','')"
    )
    context = add(
        f"(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({accuracy}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid_angle}))REPRESENTATION_CONTEXT('',''))"
    )
    return shape, context
