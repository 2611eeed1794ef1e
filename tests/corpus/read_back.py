"""A second look at the corpus by other means: ezdxf for drawings, a few lines each for meshes.

Only what the corpus' own files need is read; nothing of the program is used.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from ezdxf import filemanagement, recover
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.insert import Insert
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from tests.corpus.shapes import Chain, spaced
from tests.corpus.truth import UNIT_MM, Options, Truth

Array = NDArray[np.float64]


def drawn_paths(path: Path, layers: tuple[str, ...]) -> list[Array]:
    """Every line and curve of model space on the given layers that is shown, flattened, in file units."""
    document = filemanagement.readfile(path) if path.stem == "binary" else recover.readfile(path)[0]
    hidden = {la.dxf.name for la in document.layers if la.is_off() or la.is_frozen()}

    def walk(items: Any, layer: str) -> Iterator[DXFEntity]:
        for item in items:
            own = layer if item.dxf.layer == "0" and layer else item.dxf.layer
            if own in hidden or item.dxf.get("invisible", 0):
                continue
            if isinstance(item, Insert):
                for part in item.multi_insert() if item.mcount > 1 else [item]:
                    yield from walk(part.virtual_entities(), own)
            elif not layers or own in layers:
                yield item

    return [places for item in walk(document.modelspace(), "") for places in _flattened(item)]


def _flattened(item: DXFEntity) -> Iterator[Array]:
    if isinstance(item, Line):
        yield _plane([item.dxf.start, item.dxf.end])
    elif isinstance(item, Circle):  # Arc is one
        yield _plane(item.flattening(max(1e-9, item.dxf.radius * 1e-6)))
    elif isinstance(item, Ellipse):
        yield _plane(item.flattening(item.dxf.major_axis.magnitude * 1e-6, segments=64))
    elif isinstance(item, Spline):
        yield _spline_places(item)
    elif isinstance(item, Polyline) and item.is_2d_polyline and item.dxf.flags & 4:
        # ezdxf keeps the frame of a curve made smooth among its vertices.
        places = [v.dxf.location for v in item.vertices if not v.dxf.flags & 16]
        yield _plane([*places, places[0]])
    elif isinstance(item, LWPolyline) or (
        isinstance(item, Polyline) and (item.is_2d_polyline or item.is_3d_polyline)
    ):
        for part in item.virtual_entities():
            yield from _flattened(part)


def _spline_places(item: Spline) -> Array:
    """A spline by scipy over the domain from knot[degree] to knot[count of control places]."""
    if len(item.control_points) == 0:
        return _plane(item.fit_points)
    degree, knots = item.dxf.degree, np.array(item.knots)
    weights = np.array(item.weights) if len(item.weights) else np.ones(len(item.control_points))
    controls = np.column_stack([np.array(item.control_points)[:, :2] * weights[:, None], weights])
    curve = BSpline(knots, controls, degree)(np.linspace(knots[degree], knots[len(controls)], 3001))
    return np.asarray(curve[:, :2] / curve[:, 2:], dtype=float)


def _plane(places: Iterable[Any]) -> Array:
    return np.array([(place[0], place[1]) for place in places], dtype=float)


def to_half_plane(places: Array, truth: Truth) -> Array:
    """Places of a drawing as (z, r) in mm, after the options of its truth."""
    options = truth.options
    size = UNIT_MM[options.unit or truth.unit_stated or "mm"] * options.factor
    places = places * size
    if options.axle == "y":
        places = places[:, ::-1]
    places = places + np.array(options.shift_mm)
    return places * [-1.0, 1.0] if options.flip else places


def completed(paths: list[Array], options: Options) -> list[Array]:
    """The paths with their mirror image, where the drawn half is to be completed."""
    if options.complete_at_z_mm is None:
        return paths
    middle = np.array([2.0 * options.complete_at_z_mm, 0.0])
    return [*paths, *(path * [-1.0, 1.0] + middle for path in paths)]


def distance_to_paths(places: Array, paths: list[Array]) -> Array:
    """For each place the least distance to any of the paths."""
    lines = shapely.MultiLineString([shapely.LineString(path) for path in paths])
    shapely.prepare(lines)
    return np.asarray(shapely.distance(lines, shapely.points(places)), dtype=float)


def chain_path(chain: Chain, closed: bool = True, step_mm: float = 0.1) -> Array:
    """A chain as a fine path."""
    places = spaced(chain, step_mm, closed)
    return np.array([*places, places[0]] if closed else places)
