"""Discs at which the wall between two elements can be least, in closed form.

Along the discs that touch two given elements the radius runs monotonely between

    the common normal of the two, where neither is a convex arc facing the other's inside,
    contacts just far enough apart to count, where one is a convex arc (the radius falls away from the normal),
    a third element that stops the disc,

and the ends of the elements, which are stations of their own. Radii are signed: + fillet, 0 fan, - convex.
Everything here is a candidate: the caller asks whether the disc lies in the metal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.readings.wall_discs import CONTACT_RAD, FAR, NEAR_MM, TIE_MM, Stations, directions
from geometry.readings.wall_skin import Skin
from geometry.shape.curve import Array, Flags, Indices

#: A smaller disc, mm, is rounding at a joint that two elements share.
_LEAST_MM = 1e-7

#: A direction may lie this far (cosine) beyond an arc.
_ON_ARC = 1e-12

_COS, _SIN = float(np.cos(CONTACT_RAD)), float(np.sin(CONTACT_RAD))


@dataclass(frozen=True, eq=False)
class Candidates:
    """Discs that touch two elements: column of each (m,), centre (m, 2) and radius (m,)."""

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
        np.vstack([p.centre for p in parts]),
        np.concatenate([p.radius for p in parts]),
    )


def stations(skin: Skin, found: Candidates) -> Stations:
    """Return the station of each candidate on its first element."""
    normal = -directions(skin, found.centre, found.radius, found.one)
    row = np.concatenate([skin.lines, skin.arcs, len(skin.pieces.source) + np.arange(len(skin.fans))])
    return Stations(found.centre - found.radius[:, None] * normal, normal, row[found.one])


def pair_limits(skin: Skin, cap: Array) -> Candidates:
    """Return common normals and discs at the least contact angle, of radius below the pair's cap.

    Args:
        skin: the outline's skin.
        cap: (elements,) radius below which a disc would lower the least wall of the element's zone.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        parts = [_line_fillet(skin, cap), _line_convex(skin, cap), _round_normals(skin, cap)]
        parts.append(_round_contacts(skin, cap))
    return joined(parts)


def _line_fillet(skin: Skin, cap: Array) -> Candidates:
    """Common normals of lines and fillets or fans."""
    lines = len(skin.lines)
    arc = np.flatnonzero(skin.radius >= 0.0)
    q, radius, middle = skin.centre[arc], skin.radius[arc], skin.middle[arc]
    rho = (skin.normal @ q.T - skin.offset[:, None] - radius) / 2.0
    t = skin.along @ q.T - skin.start[:, None]
    ok = (rho > _LEAST_MM) & (rho < _pair_cap(cap[:lines], cap[lines + arc]))
    ok &= (t >= -NEAR_MM) & (t <= skin.length[:, None] + NEAR_MM)
    ok &= -(skin.normal @ middle.T) >= skin.cos_half[arc] - _ON_ARC
    i, j = np.nonzero(ok)
    centre = q[j] - skin.normal[i] * (radius[j] + rho[i, j])[:, None]
    return Candidates(i, lines + arc[j], centre, rho[i, j])


def _line_convex(skin: Skin, cap: Array) -> Candidates:
    """Discs between a line and a convex arc with contacts just far enough apart."""
    lines = len(skin.lines)
    arc = np.flatnonzero(skin.radius < 0.0)
    q, radius, middle = skin.centre[arc], -skin.radius[arc], skin.middle[arc]
    rho = (skin.normal @ q.T - skin.offset[:, None] - radius * _COS) / (1.0 - _COS)
    fits = (rho > _LEAST_MM) & (rho < radius - TIE_MM) & (rho < _pair_cap(cap[:lines], cap[lines + arc]))
    parts = []
    for sine in (_SIN, -_SIN):
        # Direction from the arc's centre to the contact: the line's contact, turned by the contact angle.
        m = skin.normal
        u = np.column_stack([-_COS * m[:, 0] + sine * m[:, 1], -_COS * m[:, 1] - sine * m[:, 0]])
        t = skin.along @ q.T - skin.start[:, None]
        t = t + (radius - rho) * np.sum(u * skin.along, axis=1)[:, None]
        ok = fits & (t >= -NEAR_MM) & (t <= skin.length[:, None] + NEAR_MM)
        ok &= u @ middle.T >= skin.cos_half[arc] - _ON_ARC
        i, j = np.nonzero(ok)
        centre = q[j] + u[i] * (radius[j] - rho[i, j])[:, None]
        parts.append(Candidates(i, lines + arc[j], centre, rho[i, j]))
    return joined(parts)


def _round_normals(skin: Skin, cap: Array) -> Candidates:
    """Common normals of two fillets, and of a convex arc and a fillet inside it (fans are fillets)."""
    q, radius = skin.centre, skin.radius
    dz, dr = q[:, 0] - q[:, None, 0], q[:, 1] - q[:, None, 1]
    apart = np.hypot(dz, dr)
    convex = radius < 0.0
    first = convex[:, None] | (np.arange(len(radius))[:, None] < np.arange(len(radius)))
    first &= ~convex
    side = np.where(convex, -1.0, 1.0)[:, None]
    rho = (side * apart - radius[:, None] - radius) / 2.0
    lines = len(skin.lines)
    ok = first & (rho > _LEAST_MM) & (rho < _pair_cap(cap[lines:], cap[lines:])) & (apart > 0.0)
    i, j = np.nonzero(ok)
    u = np.column_stack([dz[i, j], dr[i, j]]) / apart[i, j][:, None]
    on = np.sum(u * skin.middle[i], axis=1) >= skin.cos_half[i] - _ON_ARC
    on &= -side[i, 0] * np.sum(u * skin.middle[j], axis=1) >= skin.cos_half[j] - _ON_ARC
    i, j, u = i[on], j[on], u[on]
    reach = rho[i, j] + radius[i]
    centre = q[i] + u * np.abs(reach)[:, None]
    return Candidates(lines + i, lines + j, centre, rho[i, j])


def _round_contacts(skin: Skin, cap: Array) -> Candidates:
    """Discs between two arcs, one of them convex, with contacts just far enough apart.

    With a = R1 + rho and b = R2 + rho the centres obey |q2 - q1|^2 = a^2 + b^2 - 2 a b cos(contact angle), a
    quadratic in rho.
    """
    q, radius, lines = skin.centre, skin.radius, len(skin.lines)
    i, j = np.nonzero(np.triu((radius[:, None] < 0.0) | (radius < 0.0), 1))
    d2 = np.sum((q[j] - q[i]) ** 2, axis=1)
    r1, r2 = radius[i], radius[j]
    half_sum = (r1 + r2) / 2.0
    rest = (r1 * r1 + r2 * r2 - 2.0 * _COS * r1 * r2 - d2) / (2.0 - 2.0 * _COS)
    root = np.sqrt(half_sum * half_sum - rest)
    limit = np.maximum(cap[lines + i], cap[lines + j])
    limit = np.minimum(limit, np.where(r1 < 0.0, -r1 - TIE_MM, np.inf))
    limit = np.minimum(limit, np.where(r2 < 0.0, -r2 - TIE_MM, np.inf))
    parts = []
    for sign in (1.0, -1.0):
        rho = sign * root - half_sum
        k = np.flatnonzero((rho > _LEAST_MM) & (rho < limit))
        parts += [_two_circles(skin, i[k], j[k], rho[k], mirror) for mirror in (1.0, -1.0)]
    return joined(parts)


def _two_circles(skin: Skin, i: Indices, j: Indices, rho: Array, mirror: float) -> Candidates:
    """Return the discs of radius rho that touch arcs i and j, on one side of their line of centres."""
    w = skin.centre[j] - skin.centre[i]
    apart = np.hypot(w[:, 0], w[:, 1])
    u = w / apart[:, None]
    a, b = skin.radius[i] + rho, skin.radius[j] + rho
    along = (a * a - b * b + apart * apart) / (2.0 * apart)
    high = mirror * np.sqrt(np.maximum(a * a - along * along, 0.0))
    away = u * along[:, None] + np.column_stack([-u[:, 1], u[:, 0]]) * high[:, None]
    on = _on_arc(skin, i, away) & _on_arc(skin, j, away - w)
    lines = len(skin.lines)
    return Candidates(lines + i[on], lines + j[on], (skin.centre[i] + away)[on], rho[on])


def _on_arc(skin: Skin, arc: Indices, away: Array) -> Flags:
    """Return True where the direction from an arc's centre lies on the arc."""
    toward = np.sum(away * skin.middle[arc], axis=1)
    on: Flags = toward >= np.hypot(away[:, 0], away[:, 1]) * (skin.cos_half[arc] - _ON_ARC)
    return on


def _pair_cap(one: Array, other: Array) -> Array:
    return np.maximum(one[:, None], other)


def third_contacts(skin: Skin, one: Indices, other: Indices, cap: Array) -> Candidates:
    """Return the discs that touch each named pair of elements and any third, of radius below the pair's cap.

    Two of the three conditions are linear in centre and radius once a round one is taken off the others;
    they leave a line in (z, r, rho) that meets the third condition at most twice.
    """
    count = skin.elements
    i, j = np.repeat(one, count), np.repeat(other, count)
    k = np.tile(np.arange(count), len(one))
    keep = (k != i) & (k != j)
    i, j, k = i[keep], j[keep], k[keep]
    lines = len(skin.lines)
    parts = []
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        straight = (i < lines) & (j < lines) & (k < lines)
        s = np.flatnonzero(straight)
        a, b, c = _linear(skin, i[s]), _linear(skin, j[s]), _linear(skin, k[s])
        x0, w = _line_of(a, b)
        tau = (c[:, 3] - np.sum(c[:, :3] * x0, axis=1)) / np.sum(c[:, :3] * w, axis=1)
        parts.append(_kept(skin, i[s], j[s], k[s], x0 + w * tau[:, None], cap))
        s = np.flatnonzero(~straight)
        base = np.where(i[s] >= lines, i[s], np.where(j[s] >= lines, j[s], k[s]))
        first = np.where(base == i[s], j[s], i[s])
        last = np.where(base == k[s], j[s], k[s])
        x0, w = _line_of(_linear(skin, first, base), _linear(skin, last, base))
        radius = skin.radius[base - lines]
        x0[:, 2] += radius
        square = w[:, 0] ** 2 + w[:, 1] ** 2 - w[:, 2] ** 2
        half = w[:, 0] * x0[:, 0] + w[:, 1] * x0[:, 1] - w[:, 2] * x0[:, 2]
        rest = x0[:, 0] ** 2 + x0[:, 1] ** 2 - x0[:, 2] ** 2
        pole = -(half + np.where(half < 0.0, -1.0, 1.0) * np.sqrt(half * half - square * rest))
        for tau in (pole / square, rest / pole):
            x = x0 + w * tau[:, None]
            x[:, :2] += skin.centre[base - lines]
            x[:, 2] -= radius
            parts.append(_kept(skin, i[s], j[s], k[s], x, cap))
    return joined(parts)


def _linear(skin: Skin, element: Indices, base: Indices | None = None) -> Array:
    """Return (m, 4): factors of z, r, rho and the right side of each element's condition.

    A line: m.(c - a) = rho. A circle less the base circle, both |c - q|^2 = (R + rho)^2. Centres are taken from
    the base's centre where there is one.
    """
    lines = len(skin.lines)
    out = np.empty((len(element), 4))
    origin = np.zeros((len(element), 2)) if base is None else skin.centre[base - lines]
    straight = element < lines
    line = element[straight]
    m = skin.normal[line]
    out[straight, :2], out[straight, 2] = m, -1.0
    out[straight, 3] = skin.offset[line] - np.sum(m * origin[straight], axis=1)
    if base is None:
        return out
    round_ = ~straight
    arc, own = element[round_] - lines, base[round_] - lines
    apart = skin.centre[arc] - skin.centre[own]
    r, r0 = skin.radius[arc], skin.radius[own]
    scale = np.sqrt(np.sum(apart * apart, axis=1) + (r - r0) ** 2)
    scale = np.where(scale > 0.0, scale, 1.0)
    out[round_, :2] = apart / scale[:, None]
    out[round_, 2] = (r - r0) / scale
    out[round_, 3] = (np.sum(apart * apart, axis=1) - r * r + r0 * r0) / (2.0 * scale)
    return out


def _line_of(a: Array, b: Array) -> tuple[Array, Array]:
    """Return a point (m, 3) and the unit direction (m, 3) of the line in which two planes meet."""
    na, nb = a[:, :3], b[:, :3]
    w = np.cross(na, nb)
    w2 = np.sum(w * w, axis=1)[:, None]
    x0 = (a[:, 3:] * np.cross(nb, w) + b[:, 3:] * np.cross(w, na)) / w2
    return x0, w / np.sqrt(w2)


def _kept(skin: Skin, i: Indices, j: Indices, k: Indices, x: Array, cap: Array) -> Candidates:
    """Return the discs (z, r, rho) below the cap of (i, j) that touch i, j and k on their pieces."""
    limit = np.maximum(cap[i], cap[j])
    ok = np.flatnonzero((x[:, 2] > _LEAST_MM) & (x[:, 2] < limit))
    i, j, k, x = i[ok], j[ok], k[ok], x[ok]
    on = np.ones(len(i), dtype=bool)
    away = []
    for element in (i, j, k):
        touches, direction = touch(skin, element, x)
        on &= touches
        away.append(direction)
    on &= np.sum(away[0] * away[1], axis=1) <= FAR
    return Candidates(i[on], j[on], x[on, :2], x[on, 2])


def touch(skin: Skin, element: Indices, x: Array) -> tuple[Flags, Array]:
    """Return whether discs (z, r, rho) touch the elements on their pieces, and the directions to the contacts."""
    lines = len(skin.lines)
    on = np.zeros(len(element), dtype=bool)
    direction = np.zeros((len(element), 2))
    s = np.flatnonzero(element < lines)
    line = element[s]
    t = np.sum(x[s, :2] * skin.along[line], axis=1) - skin.start[line]
    on[s] = (t >= -NEAR_MM) & (t <= skin.length[line] + NEAR_MM)
    direction[s] = -skin.normal[line]
    s = np.flatnonzero(element >= lines)
    arc = element[s] - lines
    v = x[s, :2] - skin.centre[arc]
    between = skin.radius[arc] + x[s, 2]
    # A fillet's disc lies outside its circle, a convex arc's inside; one that fills the arc is its own station's.
    right = np.where(skin.radius[arc] < 0.0, -between, between) > TIE_MM
    on[s] = right & _on_arc(skin, arc, v)
    direction[s] = -v / between[:, None]
    return on, direction
