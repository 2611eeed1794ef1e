"""Discs at which the wall between two elements can be least, in closed form.

Along the discs that touch two given elements the radius runs monotonely between

    the common normal of the two, where one of them is a fillet or a fan,
    contacts just far enough apart to count, where one is a convex arc (the radius falls off to both sides),
    a third element that stops the disc,

and the ends of the elements, which are stations of their own. Everything here is a candidate: the caller asks
whether the disc lies in the metal.

In the words of wall_skin, with u = K2 - K1, a disc of radius rho touches two elements at contacts an angle
theta apart, seen from its centre, where

    (h1 + k1 rho) (h2 + k2 rho) (1 - cos theta) = k1 k2 u.u / 2 + h1 k2 u.N1 - h2 k1 u.N2 + h1 h2 (1 - N1.N2)

For two arcs that is the law of cosines in the triangle of the three centres, times k1 k2 and less the square
of the difference of the radii; the right side is half the square of the length of the tangent to both.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import compiled
from geometry.readings.wall_discs import CONTACT_RAD, form_of, touches
from geometry.readings.wall_skin import BEND, SAME_CIRCLE_MM, WEIGHT, Form
from geometry.shape.curve import Array

#: A smaller disc, mm, is rounding at a joint that two elements share.
_LEAST_MM = 1e-7

_COS, _SIN = math.cos(CONTACT_RAD), math.sin(CONTACT_RAD)


@compiled
def _roots(a: float, b: float, c: float) -> tuple[float, float]:
    """Return the roots of a x^2 + b x + c = 0, first the one that grows as a vanishes; NaN for none."""
    square = b * b - 4.0 * a * c
    if square < 0.0:
        return np.nan, np.nan
    pole = -0.5 * (b + math.copysign(math.sqrt(square), b))
    return pole / a if a != 0.0 else np.nan, c / pole if pole != 0.0 else np.nan


@compiled
def _tighter(e: Array, i: int, j: int) -> bool:
    """Return True where the circle of element i is no larger than that of element j."""
    return bool(e[i, WEIGHT] * abs(e[j, BEND]) <= e[j, WEIGHT] * abs(e[i, BEND]))


@compiled
def pair_limits(e: Array, one: int, other: int, limit: float, out: Array) -> int:
    """Write centre and radius of the candidates of two elements, of radius below the limit; return how many.

    These are common normals and discs at the least contact angle that touch both between their ends. One of
    the elements is round. There is room for six.
    """
    # From the tighter circle numbers are small.
    i, j = (one, other) if _tighter(e, one, other) else (other, one)
    k1z, k1r, n1z, n1r, k1, h1 = form_of(e, i)
    k2z, k2r, n2z, n2r, k2, h2 = form_of(e, j)
    uz, ur = k2z - k1z, k2r - k1r
    # From centre to centre, times k1 k2; to a line it is along its normal.
    wz, wr = k1 * k2 * uz + h1 * k2 * n1z - h2 * k1 * n2z, k1 * k2 * ur + h1 * k2 * n1r - h2 * k1 * n2r
    w2 = wz * wz + wr * wr
    count = 0
    if w2 <= (SAME_CIRCLE_MM * k1 * k2) ** 2:
        return count
    a, b = k1 * k2, h1 * k2 + h2 * k1
    apart = 0.5 * a * (uz * uz + ur * ur)
    apart += h1 * k2 * (uz * n1z + ur * n1r) - h2 * k1 * (uz * n2z + ur * n2r)
    for angled in range(2):
        if angled:
            if min(k1, k2) >= 0.0:
                break
            cosine, sine = _COS, _SIN
            c = h1 * h2 - (apart + h1 * h2 * (1.0 - n1z * n2z - n1r * n2r)) / (1.0 - cosine)
        else:
            if max(k1, k2) <= 0.0:
                continue
            # 1 + N1.N2 is half the square of their sum.
            cosine, sine = -1.0, 0.0
            c = 0.25 * h1 * h2 * ((n1z + n2z) ** 2 + (n1r + n2r) ** 2) - 0.5 * apart
        for rho in _roots(a, b, c):
            if not _LEAST_MM < rho < limit:
                continue
            along = k2 * (h1 + k1 * rho) - k1 * (h2 + k2 * rho) * cosine
            across = k1 * (h2 + k2 * rho) * sine
            for _ in range(1 + angled):
                # The normal at the contact with the tighter element.
                nz, nr = (along * wz - across * wr) / w2, (along * wr + across * wz) / w2
                z = k1z + rho * nz + h1 / k1 * (nz - n1z)
                r = k1r + rho * nr + h1 / k1 * (nr - n1r)
                across = -across
                if touches(e, i, z, r, rho) and touches(e, j, z, r, rho):
                    out[count, 0] = z
                    out[count, 1] = r
                    out[count, 2] = rho
                    count += 1
    return count


@compiled
def third_contacts(e: Array, one: int, other: int, third: int, limit: float, out: Array) -> int:
    """Write centre and radius of the discs that touch three elements, of radius below the limit.

    Returns how many; there is room for two. Less its multiple of the tightest element's, each condition of
    the other two is linear in centre and radius: two planes, whose line meets the tightest's at most twice.
    """
    # From the tightest circle all numbers are small; a flat arc's centre lies very far off.
    i, j, k = one, other, third
    if not _tighter(e, i, j):
        i, j = j, i
    if not _tighter(e, i, k):
        i, k = k, i
    kz, kr, nz, nr, bend, weight = form_of(e, i)
    az, ar, aq, a = _plane(form_of(e, i), form_of(e, j))
    bz, br, bq, b = _plane(form_of(e, i), form_of(e, k))
    # Direction of the planes' line, and a place on it.
    uz, ur, uq = ar * bq - aq * br, aq * bz - az * bq, az * br - ar * bz
    square = uz * uz + ur * ur + uq * uq
    count = 0
    if square == 0.0:
        return count
    xz = (a * (br * uq - bq * ur) + b * (ur * aq - uq * ar)) / square
    xr = (a * (bq * uz - bz * uq) + b * (uq * az - uz * aq)) / square
    xq = (a * (bz * ur - br * uz) + b * (uz * ar - ur * az)) / square
    size = math.sqrt(square)
    uz, ur, uq = uz / size, ur / size, uq / size
    for t in _roots(
        0.5 * bend * (uz * uz + ur * ur - uq * uq),
        bend * (uz * xz + ur * xr - uq * xq) + weight * (uz * nz + ur * nr - uq),
        0.5 * bend * (xz * xz + xr * xr - xq * xq) + weight * (xz * nz + xr * nr - xq),
    ):
        z, r, rho = kz + xz + uz * t, kr + xr + ur * t, xq + uq * t
        if not _LEAST_MM < rho < limit:
            continue
        if touches(e, i, z, r, rho) and touches(e, j, z, r, rho) and touches(e, k, z, r, rho):
            out[count, 0] = z
            out[count, 1] = r
            out[count, 2] = rho
            count += 1
    return count


@compiled
def _plane(base: Form, other: Form) -> tuple[float, float, float, float]:
    """Return factors of z, r, rho from the base's K, and the right side, of another element's condition.

    That is height = h rho + k rho^2 / 2, less the base's times the ratio of the bends.
    """
    kz, kr, nz, nr, bend, weight = other
    uz, ur = kz - base[0], kr - base[1]
    share = bend * base[5] / base[4] if bend != 0.0 else 0.0
    return (
        weight * nz - bend * uz - share * base[2],
        weight * nr - bend * ur - share * base[3],
        share - weight,
        weight * (uz * nz + ur * nr) - 0.5 * bend * (uz * uz + ur * ur),
    )
