"""Discs at which the wall between two elements can be least, in closed form.

Along the discs that touch two given elements the radius runs monotonely between

    the common normal of the two, where neither is a convex arc facing the other's inside,
    contacts just far enough apart to count, where one is a convex arc (the radius falls off to both sides),
    a third element that stops the disc,

and the ends of the elements, which are stations of their own. Radii are signed: + fillet, 0 fan, - convex; a
disc touches an arc where the centres lie |R + rho| apart. Everything here is a candidate: the caller asks
whether the disc lies in the metal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.wall_discs import CONTACT_RAD, NEAR_MM, Stations, directions
from geometry.readings.wall_skin import SAME_CIRCLE_MM, Skin, cells, columns, dot
from geometry.shape.curve import Array, Flags, Indices

#: A smaller disc, mm, is rounding at a joint that two elements share.
_LEAST_MM = 1e-7

#: A disc touches what it lies this near to, mm; more is a solution lost in rounding.
_TANGENT_MM = 1e-7

_COS, _SIN = float(np.cos(CONTACT_RAD)), float(np.sin(CONTACT_RAD))

#: Factors of z, r, rho and the right side of conditions that are linear in a disc's centre and radius.
Linear = tuple[Array, Array, Array, Array]


@dataclass(frozen=True, eq=False)
class Candidates:
    """Discs that touch two elements: the elements (m,), centre (m, 2) and radius (m,)."""

    one: Indices
    other: Indices
    centre: Array
    radius: Array

    def only(self, keep: Flags) -> Candidates:
        """Return the candidates that are kept."""
        return Candidates(self.one[keep], self.other[keep], self.centre[keep], self.radius[keep])


def joined(parts: list[Candidates]) -> Candidates:
    """Return all candidates of the parts."""
    return Candidates(
        np.concatenate([p.one for p in parts]),
        np.concatenate([p.other for p in parts]),
        np.concatenate([p.centre for p in parts]),
        np.concatenate([p.radius for p in parts]),
    )


def stations(skin: Skin, found: Candidates) -> Stations:
    """Return the station of each candidate on its first element."""
    normal = -directions(skin, found.centre, found.radius, found.one)
    return Stations(found.centre - found.radius[:, None] * normal, normal, skin.row[found.one])


def pair_limits(skin: Skin, cap: Array) -> Candidates:
    """Return common normals and discs at the least contact angle, of radius below the pair's cap.

    Args:
        skin: the outline's skin.
        cap: (elements,) radius below which a disc would lower the least wall of the element's zone.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        found = joined([*_line_and_round(skin, cap), *_two_hollow(skin, cap), *_convex_and_round(skin, cap)])
    return found.only(_touching(skin, found))


def _touching(skin: Skin, found: Candidates) -> Flags:
    """Return which candidates touch both their elements within the pieces' ends."""
    on = touches(
        skin,
        np.concatenate([found.one, found.other]),
        np.concatenate([found.centre, found.centre]),
        np.concatenate([found.radius, found.radius]),
    )
    both: Flags = on[: len(found.one)] & on[len(found.one) :]
    return both


def touches(skin: Skin, element: Indices, centre: Array, radius: Array) -> Flags:
    """Return (m,) True where discs touch the elements themselves, not their extensions."""
    lines = len(skin.lines)
    z, r = centre[:, 0], centre[:, 1]
    off = np.zeros(len(element))
    straight = element < lines
    k = np.flatnonzero(straight)
    line = element[k]
    off[k] = dot(centre[k], skin.normal[line]) - skin.offset[line] - radius[k]
    k = np.flatnonzero(~straight)
    arc = element[k] - lines
    # A fillet's disc lies outside its circle, a convex arc's inside. One that fills the arc is not asked for.
    size, rho, w = skin.radius[arc], radius[k], centre[k] - skin.crest[arc]
    apart = np.where(size < 0.0, -1.0, 1.0) * (size + rho)
    square = dot(w, w) + 2.0 * np.abs(size) * dot(w, skin.middle[arc])
    off[k] = np.where(apart > SAME_CIRCLE_MM, (square - 2.0 * size * rho - rho * rho) / (2.0 * apart), np.inf)
    on: Flags = np.abs(off) < _TANGENT_MM
    for sides in (skin.past_start, skin.short_of_end):
        a, b, c = sides[:, element]
        on &= a * z + b * r + c >= -NEAR_MM
    return on


def _line_and_round(skin: Skin, cap: Array) -> list[Candidates]:
    """Common normals of lines and fillets or fans; discs at the contact angle of lines and convex arcs."""
    lines, radius = len(skin.lines), skin.radius
    convex = radius < 0.0
    height = skin.normal @ skin.centre.T - skin.offset[:, None]
    rho = np.where(convex, (height + radius * _COS) / (1.0 - _COS), (height - radius) / 2.0)
    limit = np.minimum(np.maximum(cap[:lines, None], cap[lines:]), np.where(convex, -radius, np.inf))
    i, j = cells((rho > _LEAST_MM) & (rho < limit))
    found, m, q, apart = rho[i, j], skin.normal[i], skin.centre[j], radius[j] + rho[i, j]
    fillet, arc = ~convex[j], convex[j]
    parts = [Candidates(i, lines + j, q - m * apart[:, None], found).only(fillet)]
    i, j, found, m, q, apart = i[arc], j[arc], found[arc], m[arc], q[arc], apart[arc]
    for sine in (_SIN, -_SIN):
        # Direction from the arc's centre to the contact: the line's contact, turned by the contact angle.
        u = columns(-_COS * m[:, 0] + sine * m[:, 1], -_COS * m[:, 1] - sine * m[:, 0])
        parts.append(Candidates(i, lines + j, q - u * apart[:, None], found))
    return parts


def _two_hollow(skin: Skin, cap: Array) -> list[Candidates]:
    """Common normals of two fillets or fans."""
    lines, hollow = len(skin.lines), np.flatnonzero(skin.radius >= 0.0)
    q, radius, limit = skin.centre[hollow], skin.radius[hollow], cap[lines + hollow]
    apart = np.hypot(q[:, 0] - q[:, None, 0], q[:, 1] - q[:, None, 1])
    rho = (apart - radius[:, None] - radius) / 2.0
    i, j = cells((rho > _LEAST_MM) & (rho < np.maximum(limit[:, None], limit)))
    once = i < j
    i, j = i[once], j[once]
    share = (radius[i] + rho[i, j]) / apart[i, j]
    centre = q[i] + (q[j] - q[i]) * share[:, None]
    return [Candidates(lines + hollow[i], lines + hollow[j], centre, rho[i, j])]


def _convex_and_round(skin: Skin, cap: Array) -> list[Candidates]:
    """Of a convex arc and another: the common normal with a fillet inside it, contacts at the least angle.

    With a = R1 + rho and b = R2 + rho the centres obey |q2 - q1|^2 = a^2 + b^2 - 2 a b cos(angle between the
    contacts), a quadratic in rho.
    """
    lines, bulging = len(skin.lines), np.flatnonzero(skin.radius < 0.0)
    r1, r2 = skin.radius[bulging][:, None], skin.radius
    q = skin.centre
    d2 = (q[:, 0] - q[bulging, :1]) ** 2 + (q[:, 1] - q[bulging, 1:]) ** 2
    half_sum = (r1 + r2) / 2.0
    limit = np.minimum(np.maximum(cap[lines + bulging][:, None], cap[lines:]), -r1)
    limit = np.where(d2 > SAME_CIRCLE_MM**2, np.minimum(limit, skin.largest), 0.0)
    normal = np.where(r2 < 0.0, 0.0, -np.sqrt(d2) / 2.0 - half_sum)
    rest = (r1 * r1 + r2 * r2 - 2.0 * _COS * r1 * r2 - d2) / (2.0 - 2.0 * _COS)
    root = np.sqrt(half_sum * half_sum - rest)
    parts = []
    for rho, angled in ((normal, False), (root - half_sum, True), (-root - half_sum, True)):
        i, j = cells((rho > _LEAST_MM) & (rho < limit))
        found = rho[i, j]
        i = bulging[i]
        # From the tighter circle: the centres lie along the line of centres, and to either side of it.
        tight = np.abs(skin.radius[i]) <= np.abs(skin.radius[j])
        near, far = np.where(tight, i, j), np.where(tight, j, i)
        w = q[far] - q[near]
        apart = np.hypot(w[:, 0], w[:, 1])
        a, b = skin.radius[near] + found, np.abs(skin.radius[far] + found)
        along = (a * a + (apart - b) * (apart + b)) / (2.0 * apart)
        foot = q[near] + w * (along / apart)[:, None]
        if not angled:
            parts.append(Candidates(lines + i, lines + j, foot, found))
            continue
        high = np.sqrt(np.maximum(a * a - along * along, 0.0)) / apart
        side = columns(-w[:, 1], w[:, 0]) * high[:, None]
        parts += [Candidates(lines + i, lines + j, foot + s, found) for s in (side, -side)]
    return parts


def third_contacts(skin: Skin, one: Indices, other: Indices, limit: Array) -> Candidates:
    """Return the discs that touch each pair of elements and any third, of radius below the pair's limit.

    Two of the three conditions are linear in centre and radius, once a round one is taken off the others;
    they leave a line in (z, r, rho) that meets the third condition at most twice.
    """
    pair, k = _triples(skin, one, other, limit)
    i, j = one[pair], other[pair]
    lines = len(skin.lines)
    straight = (i < lines) & (j < lines) & (k < lines)
    flat, curved = np.flatnonzero(straight), np.flatnonzero(~straight)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        discs = [_of_lines(skin, i[flat], j[flat], k[flat])] if len(flat) else []
        if len(curved):
            discs += _of_arcs(skin, i[curved], j[curved], k[curved])
        if not discs:
            return Candidates(one[:0], other[:0], np.empty((0, 2)), np.empty(0))
        of = np.concatenate([flat, curved, curved])
        centre = np.concatenate([c for c, _ in discs])
        radius = np.concatenate([r for _, r in discs])
        fits = np.flatnonzero((radius > _LEAST_MM) & (radius < limit[pair[of]]))
    of, centre, radius = of[fits], centre[fits], radius[fits]
    on = np.flatnonzero(touches(skin, k[of], centre, radius))
    found = Candidates(i[of[on]], j[of[on]], centre[on], radius[on])
    return found.only(_touching(skin, found))


def _triples(skin: Skin, one: Indices, other: Indices, limit: Array) -> tuple[Indices, Indices]:
    """Return pair and third element where it is near enough to touch a disc below the pair's limit."""
    near = np.ones((len(one), skin.elements), dtype=bool)
    every = np.arange(skin.elements)
    for element in (one, other):
        away = skin.ball[element][:, None] - skin.ball
        room = skin.ball_radius[element][:, None] + skin.ball_radius + 2.0 * limit[:, None]
        near &= (away[:, :, 0] ** 2 + away[:, :, 1] ** 2 < room * room) & (every != element[:, None])
    pair, third = cells(near)
    return pair, third


def _of_lines(skin: Skin, i: Indices, j: Indices, k: Indices) -> tuple[Array, Array]:
    """Return centre (m, 2) and radius (m,) of the disc between three lines."""
    a, b, c = (_line_condition(skin, e) for e in (i, j, k))
    x, w = _meet(a, b)
    tau = (c[3] - c[0] * x[0] - c[1] * x[1] - c[2] * x[2]) / (c[0] * w[0] + c[1] * w[1] + c[2] * w[2])
    return columns(x[0] + w[0] * tau, x[1] + w[1] * tau), x[2] + w[2] * tau


def _of_arcs(skin: Skin, i: Indices, j: Indices, k: Indices) -> list[tuple[Array, Array]]:
    """Return centres (m, 2) and radii (m,) of the two discs that touch three elements, one of them round."""
    lines = len(skin.lines)
    # From the tightest circle's centre all numbers are small; a flat arc's lies very far off.
    bend = np.abs(skin.size)
    bend[:lines] = np.inf
    base = np.where((bend[i] <= bend[j]) & (bend[i] <= bend[k]), i, np.where(bend[j] <= bend[k], j, k))
    first, last = np.where(base == i, j, i), np.where(base == k, j, k)
    origin, radius = skin.centre[base - lines], skin.radius[base - lines]
    x, w = _meet(_condition(skin, first, base), _condition(skin, last, base))
    # The base circle: z^2 + r^2 = (radius + rho)^2 about its centre.
    high = x[2] + radius
    square = w[0] * w[0] + w[1] * w[1] - w[2] * w[2]
    half = w[0] * x[0] + w[1] * x[1] - w[2] * high
    rest = x[0] * x[0] + x[1] * x[1] - high * high
    pole = -(half + np.where(half < 0.0, -1.0, 1.0) * np.sqrt(half * half - square * rest))
    return [
        (origin + columns(x[0] + w[0] * tau, x[1] + w[1] * tau), x[2] + w[2] * tau)
        for tau in (pole / square, rest / pole)
    ]


def _line_condition(skin: Skin, line: Indices) -> Linear:
    """A line: m.(c - a) = rho."""
    m = skin.normal[line]
    return m[:, 0], m[:, 1], np.full(len(line), -1.0), skin.offset[line]


def _condition(skin: Skin, element: Indices, base: Indices) -> Linear:
    """A line's condition, or a circle's, |c - q|^2 = (R + rho)^2, less the base's; from the base's centre."""
    lines = len(skin.lines)
    base = base - lines
    straight = element < lines
    v, w = skin.anchor[element], skin.centre[base]
    z, r = v[:, 0] - w[:, 0], v[:, 1] - w[:, 1]
    ra, rb = skin.size[element], skin.radius[base]
    return (
        np.where(straight, v[:, 0], z),
        np.where(straight, v[:, 1], r),
        np.where(straight, -1.0, ra - rb),
        np.where(straight, ra - dot(v, w), (z * z + r * r - ra * ra + rb * rb) / 2.0),
    )


def _meet(a: Linear, b: Linear) -> tuple[tuple[Array, Array, Array], tuple[Array, Array, Array]]:
    """Return a point (z, r, rho) and the direction of the line in which two planes meet."""
    u, v = _cross(a, b), a[3]
    square = u[0] * u[0] + u[1] * u[1] + u[2] * u[2]
    p, q = _cross(b, u), _cross(u, a)
    x = tuple((v * p[c] + b[3] * q[c]) / square for c in range(3))
    size = np.sqrt(square)
    return (x[0], x[1], x[2]), (u[0] / size, u[1] / size, u[2] / size)


def _cross(a: tuple[Array, ...], b: tuple[Array, ...]) -> tuple[Array, Array, Array]:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
