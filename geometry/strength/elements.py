"""Six-node triangles of a body of revolution under loads that vary as cos(n theta) or sin(n theta).

Displacements (u_z, u_r) vary as cos(n theta), u_theta as sin(n theta); theta turns from z over r to the right
hand. Strains in the order zz, rr, tt, zr (cosine) and rt, zt (sine), engineering shear:

    e_zz = du_z/dz              e_rr = du_r/dr               e_tt = u_r/r + n u_t/r
    g_zr = du_z/dr + du_r/dz    g_rt = du_t/dr - u_t/r - n u_r/r    g_zt = du_t/dz - n u_z/r

so B = A + n C with A and C free of n, and the stiffness of an element is K0 + n K1 + n2 K2 (after the turn
is integrated: times pi, for n = 0 times 2 pi). O. C. Zienkiewicz, R. L. Taylor, The Finite Element Method,
chapter on semi-analytical methods (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Indices

#: Degree-4 rule of six points on the triangle, barycentric, and its weights (sum 1/2).
#: D. A. Dunavant, Int. J. Numer. Meth. Engng 21 (1985) 1129 (from memory; exactness is tested).
_A1, _W1 = 0.445948490915965, 0.223381589678011 / 2.0
_A2, _W2 = 0.091576213509771, 0.109951743655322 / 2.0
GAUSS: Array = np.array(
    [[a, a] for a in (_A1, _A2)]
    + [[1.0 - 2.0 * a, a] for a in (_A1, _A2)]
    + [[a, 1.0 - 2.0 * a] for a in (_A1, _A2)]
)
WEIGHTS: Array = np.array([_W1, _W2] * 3)

#: Corners 0 1 2, then the middles of 0-1, 1-2, 2-0, in barycentric (second, third) coordinates.
NODES: Array = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])

#: Strain components: zz, rr, tt, zr vary as cos(n theta), rt and zt as sin(n theta).
ZZ, RR, TT, ZR, RT, ZT = range(6)


def shapes(at: Array) -> Array:
    """Return (m, 6) shape functions at (m, 2) places of the reference triangle."""
    x, y = at[:, 0], at[:, 1]
    o = 1.0 - x - y
    return np.column_stack(
        [o * (2 * o - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * o * x, 4 * x * y, 4 * y * o]
    )


def slopes(at: Array) -> Array:
    """Return (m, 6, 2) derivatives of the shape functions along both reference directions."""
    x, y = at[:, 0], at[:, 1]
    o, zero = 1.0 - x - y, np.zeros(len(at))
    along_x = np.column_stack([1 - 4 * o, 4 * x - 1, zero, 4 * (o - x), 4 * y, -4 * y])
    along_y = np.column_stack([1 - 4 * o, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (o - y)])
    return np.stack([along_x, along_y], axis=2)


@dataclass(frozen=True)
class Fields:
    """What every element holds at a set of places.

    Attributes:
        r: (e, m) distance from the axle, mm.
        area: (e, m) of the reference triangle's unit area, mm2 (determinant of the mapping).
        plain, turn: (e, m, 6, 18) the parts A and C of B = A + n C; columns are u_z, u_r, u_t of each node.
    """

    r: Array
    area: Array
    plain: Array
    turn: Array


def fields(points: Array, triangles: Indices, at: Array) -> Fields:
    """Return strain operators of all elements at reference places.

    Args:
        points: (n, 2) nodes (z, r) in mm.
        triangles: (e, 6) nodes of each element, counterclockwise, middles last.
        at: (m, 2) places in the reference triangle.
    """
    corner = points[triangles]
    n, d = shapes(at), slopes(at)
    jacobian = np.einsum("mki,ekj->emij", d, corner)
    area = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
    r = np.maximum(np.einsum("mk,ek->em", n, corner[..., 1]), 1e-9)
    inverse = np.empty_like(jacobian)
    inverse[..., 0, 0], inverse[..., 1, 1] = jacobian[..., 1, 1], jacobian[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -jacobian[..., 0, 1], -jacobian[..., 1, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        inverse /= area[..., None, None]
    # grad[e, m, k, 0] = dN/dz, [.., 1] = dN/dr
    grad = np.einsum("emji,mki->emkj", inverse, d)
    over_r = n[None] / r[..., None]
    e, m = area.shape
    plain, turn = np.zeros((e, m, 6, 18)), np.zeros((e, m, 6, 18))
    u_z, u_r, u_t = slice(0, 18, 3), slice(1, 18, 3), slice(2, 18, 3)
    plain[:, :, ZZ, u_z] = grad[..., 0]
    plain[:, :, RR, u_r] = grad[..., 1]
    plain[:, :, TT, u_r] = over_r
    plain[:, :, ZR, u_z], plain[:, :, ZR, u_r] = grad[..., 1], grad[..., 0]
    plain[:, :, RT, u_t] = grad[..., 1] - over_r
    plain[:, :, ZT, u_t] = grad[..., 0]
    turn[:, :, TT, u_t] = over_r
    turn[:, :, RT, u_r] = -over_r
    turn[:, :, ZT, u_z] = -over_r
    return Fields(r, area, plain, turn)


def isotropic(elastic_mpa: float, poisson: float) -> Array:
    """Return (6, 6) stiffness of an isotropic material in the order of the strains, MPa."""
    lame = elastic_mpa * poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = elastic_mpa / (2 * (1 + poisson))
    out = np.zeros((6, 6))
    out[:3, :3] = lame
    out[range(3), range(3)] += 2 * shear
    out[range(3, 6), range(3, 6)] = shear
    return out


def stiffness(at: Fields, weights: Array, material: Array) -> tuple[Array, Array, Array]:
    """Return K0, K1, K2, each (e, 18, 18), in N/mm per unit of the turn's integral.

    Args:
        at: strain operators at the Gauss points.
        weights: (m,) of these points.
        material: (e, 6, 6) or (e, m, 6, 6) stiffness in MPa.
    """
    weight = at.area * at.r * weights
    law = material if material.ndim == 4 else material[:, None]
    e, m = weight.shape
    heavy = law * weight[..., None, None]
    # Two matrix products over all points of an element at once are far quicker than one einsum.
    a, c = at.plain.reshape(e, m * 6, 18), at.turn.reshape(e, m * 6, 18)
    da, dc = (heavy @ at.plain).reshape(e, m * 6, 18), (heavy @ at.turn).reshape(e, m * 6, 18)
    at_, ct = a.transpose(0, 2, 1), c.transpose(0, 2, 1)
    mixed = at_ @ dc
    return at_ @ da, mixed + mixed.transpose(0, 2, 1), ct @ dc


def turn_integral(harmonic: int) -> float:
    """Return the integral of cos2 (or sin2 for the sine parts) over one turn."""
    return 2.0 * math.pi if harmonic == 0 else math.pi
