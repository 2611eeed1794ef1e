"""The thickest place of a section, against closed forms."""

import pytest

from geometry.forging.thickest import DIE_FORGING_MM, row_words, thickest
from geometry.shape.curve import Path


def test_a_disc_is_as_thick_as_it_is_high_and_a_ring_as_its_narrower_side() -> None:
    disc = Path.closed([(0.0, 0.0), (40.0, 0.0), (40.0, 250.0), (0.0, 250.0)])
    assert thickest(disc)[0] == pytest.approx(40.0, abs=0.05)
    ring = Path.closed([(0.0, 200.0), (90.0, 200.0), (90.0, 250.0), (0.0, 250.0)])
    found, (_, r) = thickest(ring)
    assert found == pytest.approx(50.0, abs=0.05)
    assert r == pytest.approx(225.0, abs=0.05)


def test_where_two_walls_meet_the_disc_is_larger_than_either() -> None:
    """An L of two walls of 40: the disc touches both outsides and the corner, d = 40 (4 - 2 sqrt 2)."""
    section = Path.closed(
        [(0.0, 150.0), (40.0, 150.0), (40.0, 210.0), (200.0, 210.0), (200.0, 250.0), (0.0, 250.0)]
    )
    assert thickest(section)[0] == pytest.approx(40.0 * (4.0 - 2.0 * 2.0**0.5), abs=0.06)


def test_a_solid_block_counts_across_the_axle() -> None:
    block = Path.closed([(0.0, 0.0), (300.0, 0.0), (300.0, 60.0), (0.0, 60.0)])
    assert thickest(block)[0] == pytest.approx(120.0, abs=0.05)
    assert "hand-forging" in row_words(120.0)
    assert "die-forging row" in row_words(DIE_FORGING_MM)
