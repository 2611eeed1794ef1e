"""Mesh files of the one format that says its unit: 3MF, with its components and items."""

from collections.abc import Iterator

from tests.corpus.bodies import turned, turned_area
from tests.corpus.cases import INCH, Case
from tests.corpus.meshes import mesh, small
from tests.corpus.truth import Place
from tests.corpus.write_mesh import mesh_object, model, three_mf


def _row(*values: float) -> str:
    return " ".join(f"{v:.9g}" for v in values)


def cases() -> Iterator[Case]:
    """All files of this group."""
    body, area = small()
    item = '<item objectid="1"/>'
    for unit, name, size in (
        ("millimeter", "mm", 1.0), ("inch", "in", INCH), ("foot", "ft", 304.8),
        ("meter", "m", 1000.0), ("centimeter", "cm", 10.0),
    ):  # fmt: skip
        content = three_mf(model(mesh_object(1, body.scaled(1 / size)), item, unit), compressed=False)
        yield mesh(f"3mf_{unit}.3mf", content, f"Its unit is {unit}.", [area], unit=name, tol=(0.002, 0.052))
    yield mesh(
        "3mf_no_unit.3mf",
        three_mf(model(mesh_object(1, body), item, None)),
        "The unit is left out; by the standard it is then the millimetre.",
        [area],
        unit="mm",
    )
    yield from _components()


def component(number: int, transform: str) -> str:
    """A 3MF component."""
    return f'<component objectid="{number}" transform="{transform}"/>'


def assembly(number: int, *components: str) -> str:
    """A 3MF object of components."""
    return f'<object id="{number}" type="model"><components>{"".join(components)}</components></object>'


def _components() -> Iterator[Case]:
    body, area = small()
    # The mesh lies turned by 90 degrees about x and moved; the component turns it back, the item moves it.
    laid = body.mapped(lambda p: (p[0] + 5.0, p[2] - 7.0, -p[1] + 11.0))
    back = _row(1, 0, 0, 0, 0, 1, 0, -1, 0, -5, 11, 7)
    # (x, y, z) of the mesh becomes (x - 5, -z + 11, y + 7): rows are what x, y, z contribute.
    assert _applied(back, laid.places[3]) == tuple(_near(v) for v in body.places[3])
    inner = mesh_object(1, laid)
    middle = assembly(2, component(1, back))
    outer = assembly(3, component(2, _row(1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 30)))
    item = f'<item objectid="3" transform="{_row(1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, -30)}"/>'
    yield mesh(
        "3mf_components.3mf",
        three_mf(model(inner + middle + outer, item)),
        "Components within components, each with its transform.",
        [area],
        unit="mm",
        tol=(0.002, 0.052),
    )
    mirrored = body.mapped(lambda p: (p[0] / INCH / 2, p[1] / INCH / 2, -p[2] / INCH / 2))
    far = turned([(60.0, 40.0), (75.0, 40.0), (75.0, 52.0), (60.0, 52.0)], 30.0, 6)
    items = (
        f'<item objectid="1" transform="{_row(2, 0, 0, 0, 2, 0, 0, 0, -2, 0, 0, 0)}"/>'
        f'<item objectid="2" transform="{_row(1 / INCH, 0, 0, 0, 1 / INCH, 0, 0, 0, 1 / INCH, 0, 0, 0)}"/>'
    )
    yield mesh(
        "3mf_items_mirrored_inch.3mf",
        three_mf(model(mesh_object(1, mirrored) + mesh_object(2, far) + mesh_object(3, body), items, "inch")),
        "In inches; one item doubled and mirrored in z, a second body scaled, a third object that "
        "is not built.",
        [area, turned_area([(60.0, 40.0), (75.0, 40.0), (75.0, 52.0), (60.0, 52.0)], 30.0, 6)],
        unit="in",
        tol=(0.002, 0.052),
        questions=("axle", "bodies"),
    )


def _applied(row: str, place: Place) -> tuple[float, ...]:
    m = [float(v) for v in row.split()]
    return tuple(_near(sum(place[i] * m[3 * i + k] for i in range(3)) + m[9 + k]) for k in range(3))


def _near(value: float) -> float:
    return round(value, 6) + 0.0
