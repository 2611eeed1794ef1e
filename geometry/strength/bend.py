"""A wheel in a bend: the road's force at the beads, with the whole moment that it has at the hub."""

from __future__ import annotations

from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.section import Zone
from geometry.strength.rim_loads import flange_load, seat_load
from geometry.strength.wheel import Body


def hub_moment_nmm(body: Body, load: dict[int, Array]) -> float:
    """Return the moment of nodal forces about a line across the axle through the hub face's middle, N mm.

    The work of the forces of harmonic 1 on a unit tilt (u_z, u_r, u_t) = (r, -z, z); a force towards the axle
    outboard of the face, or one outboard at theta = 0, is +.
    """
    one = load.get(1)
    if one is None:
        return 0.0
    z, r = body.mesh.points.T
    return float((r * one[:, 0] - z * one[:, 1] + z * one[:, 2]).sum())


def outer_share(body: Body, force_n: float, lateral_n: float, moment_nm: float, half_deg: float) -> float:
    """Return the share of the radial force on the outer seat that gives a moment at the hub.

    The road pushes at the tyre's radius, the bead leans on the flange nearer the axle: the couple of the two
    goes through the tyre's side walls into the seats, more on one and less on the other (equilibrium of the
    tyre; that the seats take all of it is an assumption).

    Args:
        body: the wheel.
        force_n: towards the axle, on both seats.
        lateral_n: inboard on the inner flange.
        moment_nm: of both about the hub face, turning as they do.
        half_deg: half of the arc.

    Raises:
        GeometryError: a seat would have to pull the tyre, or the section lacks a seat or flange.
    """
    side = hub_moment_nmm(body, flange_load(body, Zone.INNER_LIP, -lateral_n, half_deg))
    none, all_ = (hub_moment_nmm(body, seat_load(body, force_n, half_deg, share)) for share in (0.0, 1.0))
    share = (-moment_nm * 1000.0 - side - none) / (all_ - none)
    if not 0.0 <= share <= 1.0:
        raise GeometryError(
            f"A moment of {moment_nm:.0f} N m at the hub asks for {share:.0%} of the radial force on the"
            " outer seat: one of the seats would have to pull the tyre. Check the tyre size and the inset."
        )
    return share


def cornered(
    body: Body, force_n: float, lateral_n: float, moment_nm: float, half_deg: float
) -> dict[int, Array]:
    """Return nodal forces of a bend by harmonic, whose moment at the hub is the one given (`outer_share`)."""
    share = outer_share(body, force_n, lateral_n, moment_nm, half_deg)
    out = seat_load(body, force_n, half_deg, share)
    # The road pushes the tyre inboard at the outside of a bend; its bead leans on the inner flange.
    for n, f in flange_load(body, Zone.INNER_LIP, -lateral_n, half_deg).items():
        out[n] = out[n] + f
    return out
