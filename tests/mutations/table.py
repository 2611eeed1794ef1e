"""The named mutations: one changed line each, and the tests of which at least one must then fail."""

from __future__ import annotations

from dataclasses import dataclass

GAP = "tests/reference/test_gap_rows.py"
BODIES = "tests/reference/test_turned_bodies.py"
MEASURE = "tests/unit/readings/test_measure.py"
RELEASE = "tests/unit/project/test_release.py"
SHEET = "tests/unit/reports/test_section_sheet.py"
CONSTRAINTS = "tests/unit/geometry_shape/test_constraints.py"
TYRE = "tests/unit/studies/test_tyre.py"
FORGING = "tests/unit/geometry_forging"
COMPOSITE = f"{FORGING}/test_composite.py"
STAGES = f"{FORGING}/test_stages.py"
STRENGTH = "tests/unit/strength"
CLOSED = "tests/reference/test_strength_closed_forms.py"
NUMBERS = "tests/reference/test_strength_numbers.py"


@dataclass(frozen=True)
class Mutation:
    """One changed line, and the tests of which at least one must fail."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


MUTATIONS = (
    Mutation(
        "a length times a length is a length",
        "app/project/formula.py",
        "length, angle = first.length + way * second.length,",
        "length, angle = max(first.length, second.length),",
        ("tests/unit/project/test_formula.py",),
    ),
    Mutation(
        "an arc leaves its chord the wrong way",
        "geometry/shape/constraints.py",
        "way * 2.0 * bulge / below",
        "-way * 2.0 * bulge / below",
        (CONSTRAINTS,),
    ),
    Mutation(
        "what the user moved follows like the rest",
        "geometry/shape/constraints_solve.py",
        "free = ~heavy if pinned else",
        "free = ~heavy if False else",
        (CONSTRAINTS,),
    ),
    Mutation(
        "a conflict names every constraint",
        "geometry/shape/constraints_hold.py",
        "            kept = some",
        "            kept = kept",
        (CONSTRAINTS,),
    ),
    Mutation(
        "the centre of an arc on the wrong side",
        "geometry/shape/curve.py",
        "off = (1.0 - b * b) / (4.0 * b)",
        "off = (b * b - 1.0) / (4.0 * b)",
        (BODIES,),
    ),
    Mutation(
        "arcs nearest to arcs are dropped",
        "geometry/shape/distance.py",
        "best = _centre_line(a, i, b, j, best)",
        "pass",
        ("tests/reference/test_arcs_facing.py",),
    ),
    Mutation(
        "arcs nearest to lines are dropped",
        "geometry/shape/distance.py",
        "best = _normals(a, i, b, j, best)",
        "pass",
        ("tests/reference/test_arcs_facing.py",),
    ),
    Mutation(
        "z and r swapped in the sums",
        "geometry/readings/solid.py",
        "out[m, 0], out[m, 1] = t[k, Z0]",
        "out[m, 1], out[m, 0] = t[k, Z0]",
        (BODIES,),
    ),
    Mutation(
        "every direction points at every arc",
        "geometry/shape/distance.py",
        "inside: bool = sign * (az * dr - ar * dz) >= -slack and ",
        "inside: bool = sign * (az * dr - ar * dz) >= -1e9 or ",
        (GAP, "tests/reference/test_arcs_facing.py"),
    ),
    Mutation(
        "the caps between chord and arc do not count",
        "geometry/shape/distance.py",
        "if (turn < 0.0) if sweep > 0.0 else (turn >= 0.0):",
        "if False:",
        (GAP, "tests/reference/test_arcs_facing.py"),
    ),
    Mutation(
        "depth of the shape in the metal is not looked for",
        "geometry/readings/gap.py",
        "    if inside:",
        "    if True:",
        (GAP,),
    ),
    Mutation(
        "the stated error is added",
        "geometry/readings/gap_rows.py",
        "least - error_mm + included_mm - rule.needed_mm",
        "least + error_mm + included_mm - rule.needed_mm",
        (MEASURE,),
    ),
    Mutation(
        "the skin of a blank is added",
        "geometry/readings/measure.py",
        "read = zone, side, least - skin_mm,",
        "read = zone, side, least + skin_mm,",
        (MEASURE,),
    ),
    Mutation(
        "spokes wider than the ring count in full",
        "geometry/readings/solid.py",
        "full = slope * mid + offset >= turn * mid",
        "full = False",
        ("tests/unit/readings/test_spokes.py",),
    ),
    Mutation(
        "a corner arc turns the wrong way",
        "geometry/shape/rounding.py",
        "left = 1.0 if turn > 0.0 else -1.0",
        "left = -1.0 if turn > 0.0 else 1.0",
        (MEASURE, "tests/unit/geometry_shape/test_rounding.py"),
    ),
    Mutation(
        "contacts 120 degrees apart make a wall",
        "geometry/tolerances.py",
        "WALL_CONTACT_DEG = 150.0",
        "WALL_CONTACT_DEG = 120.0",
        ("tests/unit/readings/test_wall.py",),
    ),
    Mutation(
        "an end of a body that nobody saw counts as its end",
        "geometry/readings/gap_rows.py",
        "far_in = z_low if extent.ends_inboard else -LARGEST_MM",
        "far_in = z_low",
        (MEASURE,),
    ),
    Mutation(
        "a spacer moves the wheel inboard",
        "geometry/shape/section.py",
        "return Outline(self.path.moved(dz), self.zone,",
        "return Outline(self.path.moved(-dz), self.zone,",
        ("tests/unit/studies/test_fit.py",),
    ),
    Mutation(
        "a tyre does not grow",
        "app/studies/tyre.py",
        "growth = 1.0 + wheel.tyre_growth_percent / 100.0",
        "growth = 1.0",
        (TYRE,),
    ),
    Mutation(
        "a tyre that touches leaves the wheel's state alone",
        "app/studies/road.py",
        "*tyre.states, *([State.NOT_KNOWN] if misfits",
        "*([State.NOT_KNOWN] if misfits",
        (TYRE,),
    ),
    Mutation(
        "a measured gap smaller than computed agrees",
        "app/studies/trial_fit.py",
        "abs(difference) <= ",
        "difference <= ",
        ("tests/unit/studies/test_trial_fit.py",),
    ),
    Mutation(
        "one person draws and checks a released sheet",
        "app/project/release.py",
        "return _folded(a) == _folded(b)",
        "return False",
        (RELEASE,),
    ),
    Mutation(
        "a record that was changed counts as whole",
        "app/project/release.py",
        "if digest_of(release) != release.sha256:",
        "if False:",
        (RELEASE,),
    ),
    Mutation(
        "a sheet allows more than the worst state was judged with",
        "app/reports/section_sheet.py",
        "allowed > judged",
        "allowed > 10.0 * judged",
        (f"{SHEET}::test_a_tolerance_wider_than_the_worst_state_was_judged_with_keeps_the_sheet_back",),
    ),
    Mutation(
        "a wheel that touches is released",
        "app/reports/section_sheet.py",
        "    if reason:\n",
        "    if False:\n",
        (f"{SHEET}::test_a_wheel_that_is_not_clear_is_kept_back",),
    ),
    Mutation(
        "dies part where they first cross",
        "geometry/forging/profile.py",
        "height(f, i, middle) > height(g, j, middle):",
        "height(f, i, middle) > height(g, j, middle) and found < 0.0:",
        (f"{FORGING}/test_profile.py::test_the_last_of_several_meetings_counts",),
    ),
    Mutation(
        "drafts outside and inside change places",
        "geometry/forging/composite.py",
        "return ramped(required, -falls, rises, far)",
        "return ramped(required, -rises, falls, far)",
        (f"{COMPOSITE}::TestClosedForms::test_a_ring_on_a_disc_leans_inwards_by_the_inside_draft",),
    ),
    Mutation(
        "a hollow grows as a hill does",
        "geometry/forging/composite.py",
        "of = radius + s if looks_up else radius - s",
        "of = radius + s",
        (f"{COMPOSITE}::TestRules::test_every_wheel_lies_within",),
    ),
    Mutation(
        "the lower die moves against its wheel's seat",
        "geometry/forging/composite.py",
        "((each.upper, seat), (each.lower, -seat))",
        "((each.upper, seat), (each.lower, seat))",
        (f"{COMPOSITE}::TestRules::test_every_wheel_lies_within",),
    ),
    Mutation(
        "seats are looked for no further than the first bound",
        "geometry/forging/seats.py",
        "if values[best] - bound <= _PROVEN * values[best]:",
        "if True:",
        (f"{COMPOSITE}::TestSeats::test_no_seats_on_a_grid_are_better_than_the_bound",),
    ),
    Mutation(
        "the best mass found counts as its bound",
        "geometry/forging/seats.py",
        "bound = max(bound, float(low.fun))",
        "bound = max(bound, values[best])",
        (f"{COMPOSITE}::TestSeats::test_no_seats_on_a_grid_are_better_than_the_bound",),
    ),
    Mutation(
        "dies that close too far take metal off the lower one",
        "geometry/forging/usable.py",
        "[(-high, -radial), (low, -radial), (low, radial), (-high, radial)]",
        "[(-low, -radial), (high, -radial), (high, radial), (-low, radial)]",
        (f"{FORGING}/test_usable.py::test_dies_that_close_too_far_take_metal_off_the_upper_die_alone",),
    ),
    Mutation(
        "the chords of a hollow count as metal",
        "geometry/forging/usable.py",
        "_eroded(area, radial + FLAT_MM, low + FLAT_MM, high + FLAT_MM)",
        "_eroded(area, radial, low, high)",
        (f"{FORGING}/test_usable.py::test_in_a_hollow_no_place_counts_that_the_true_arc_has_not",),
    ),
    Mutation(
        "the chords of a rounded corner count as metal",
        "geometry/forging/usable.py",
        "corner - _sagitta(corner)",
        "corner",
        (f"{FORGING}/test_usable.py::test_a_corner_of_any_radius_leaves_nothing_outside_the_drawn_outline",),
    ),
    Mutation(
        "an arc passes an end of the wheel on its other half",
        "geometry/forging/removal.py",
        "(up if above else -up)",
        "(-up if above else up)",
        (
            f"{FORGING}/test_removal.py"
            "::test_a_round_skin_that_passes_the_end_of_a_step_on_one_half_of_its_arc",
        ),
    ),
    Mutation(
        "the lesser of web and ring sets the load",
        "geometry/forging/press.py",
        "max(web, extruded)",
        "min(web, extruded)",
        ("tests/reference/test_forging.py::test_web_and_ring_by_practice_16",),
    ),
    Mutation(
        "a ring that stays in its die is forged",
        "geometry/forging/presses.py",
        "if steel.ejects and ring_mm > on.ejector_mm:",
        "if False:",
        (
            "tests/reference/test_forging_plan.py::test_a_ring_that_cannot_be_lifted_out_is_refused_whatever_the_load",
        ),
    ),
    Mutation(
        "dies that meet at a height set by hand are as wide as the narrower mouth",
        "geometry/forging/meeting.py",
        "inner, rim = min(mouths), max(mouths)",
        "inner, rim = min(mouths), min(mouths)",
        (f"{FORGING}/test_meeting.py::test_both_walls_run_away_from_the_height_by_their_draft",),
    ),
    Mutation(
        "a piece at the ring's end has walls no longer than itself",
        "geometry/forging/composite.py",
        "max(z1 - z0, _WALLS_MM)",
        "(z1 - z0)",
        (f"{FORGING}/test_composite.py::TestPieces",),
    ),
    Mutation(
        "what lies under a corner is drawn into the blank",
        "geometry/forging/corner.py",
        "way = 1.0 if part.centroid.x >",
        "way = -1.0 if part.centroid.x >",
        (f"{FORGING}/test_corner.py",),
    ),
    Mutation(
        "a corner's radius is not looked at where it takes the stock",
        "geometry/forging/corner.py",
        "whole.difference(_opened(_section(outline), corner_mm).buffer(FOUND_MM))",
        "whole.difference(_section(outline).buffer(FOUND_MM))",
        (f"{FORGING}/test_corner.py",),
    ),
    Mutation(
        "the spindle has no greatest speed on a taper",
        "geometry/forging/machining.py",
        "held = slant * (large - limit) / (large - small)",
        "held = slant",
        ("tests/reference/test_machining.py::test_a_greatest_spindle_speed_against_many_thin_cones",),
    ),
    Mutation(
        "a hill has a height on its circle's lower half",
        "geometry/forging/walls.py",
        "if square < 0.0 or up * row[RADIUS] < 0.0:",
        "if square < 0.0:",
        (f"{FORGING}/test_walls.py::test_a_hill_has_a_height_over_its_centre_alone_and_a_valley_under_it",),
    ),
    Mutation(
        "a wall may be thinned by any reduction",
        "geometry/forging/spun.py",
        "np.maximum(left * (skin - heights(self.slip, before)), self._by.wall_mm)",
        "np.full(len(before), self._by.wall_mm)",
        (f"{FORGING}/test_spun.py::TestRules::test_walls_keep_the_least_wall_and_the_greatest_reduction",),
    ),
    Mutation(
        "the outside is turned where the jaws hold",
        "geometry/forging/stages.py",
        "less(sides.outside, jaws)",
        "sides.outside",
        (f"{STAGES}::test_a_ring_in_a_solid_cylinder_street_side_first",),
    ),
    Mutation(
        "what stands before the hub face is bore, and the bore is not",
        "geometry/forging/parting.py",
        "plug, bore = split(bore,",
        "bore, plug = split(bore,",
        (f"{STAGES}::test_a_ring_in_a_solid_cylinder_street_side_first",),
    ),
    Mutation(
        "a bend forgets the couple of the road's greater radius",
        "geometry/strength/bend.py",
        "out = seat_load(body, force_n, half_deg, share)",
        "out = seat_load(body, force_n, half_deg)",
        (f"{STRENGTH}/test_bend.py",),
    ),
    Mutation(
        "a hoop strain without the displacement along the turn",
        "geometry/strength/elements.py",
        "turn[:, :, TT, u_t] = over_r",
        "turn[:, :, TT, u_t] = 0.0",
        (f"{STRENGTH}/test_elements.py", f"{STRENGTH}/test_blocks.py", CLOSED),
    ),
    Mutation(
        "harmonics are stiff over half a turn too much",
        "geometry/strength/elements.py",
        "return 2.0 * math.pi if harmonic == 0 else math.pi",
        "return 2.0 * math.pi",
        (f"{STRENGTH}/test_wheel.py",),
    ),
    Mutation(
        "windows carry the hoop",
        "geometry/strength/spoked.py",
        "strip[:, TT, TT] = WINDOW * f * elastic_mpa",
        "strip[:, TT, TT] = f * elastic_mpa",
        (f"{STRENGTH}/test_spoked.py",),
    ),
    Mutation(
        "stress of spokes is that of the smeared ring",
        "geometry/strength/harmonic.py",
        "law = law / metal[..., None, None]",
        "law = law * 1.0",
        (f"{STRENGTH}/test_spoked.py",),
    ),
    Mutation(
        "inflation pulls both flanges outboard",
        "geometry/strength/rim_loads.py",
        "outer - (inward + left / 2.0) * inner",
        "outer + (inward + left / 2.0) * inner",
        (f"{STRENGTH}/test_wheel.py",),
    ),
    Mutation(
        "flanges at unequal radii leave a force along the axle",
        "geometry/strength/rim_loads.py",
        "left = outward - inward + float(out[:, 0].sum())",
        "left = 0.0",
        (f"{STRENGTH}/test_wheel.py",),
    ),
    Mutation(
        "a rim that moves as a whole is felt as a bent one",
        "geometry/strength/ringed.py",
        "    if abs(m) > 1:",
        "    if abs(m) >= 0:",
        (f"{STRENGTH}/test_ringed.py",),
    ),
    Mutation(
        "the rim hands nothing from spoke to spoke",
        "geometry/strength/ringed.py",
        "for j in range(-MULTIPLES, MULTIPLES + 1)]",
        "for j in range(1)]",
        ("tests/reference/test_spoke_models.py",),
    ),
    Mutation(
        "half of what spokes carry of a wave is lost",
        "geometry/strength/ringed.py",
        "(2.0 if m else 1.0) * (turns_of_end()",
        "(turns_of_end()",
        (f"{STRENGTH}/test_ringed.py",),
    ),
    Mutation(
        "a hub that is bent is pushed too",
        "geometry/strength/wheel.py",
        "np.linalg.solve(works, np.array([moment_nmm, 0.0]))",
        "np.array([moment_nmm / works[0, 0], 0.0])",
        (f"{STRENGTH}/test_wheel.py",),
    ),
    Mutation(
        "the preview keeps a mesh however flat it gets",
        "geometry/strength/preview.py",
        "if mesh.corner_deg.min() >= LEAST_CORNER_DEG and mesh.flatness.min() >= LEAST_FLATNESS / 2.0:",
        "if True:",
        (f"{STRENGTH}/test_preview.py",),
    ),
    Mutation(
        "the preview sums a harmonic less than it may",
        "geometry/strength/preview.py",
        "for n, f in forces.items() if n < most}",
        "for n, f in forces.items() if n < most - 1}",
        (f"{STRENGTH}/test_preview.py",),
    ),
    Mutation(
        "factors multiply the strength",
        "geometry/strength/life.py",
        "greatest = greatest_mpa / factors.all / MPA_PER_KSI",
        "greatest = greatest_mpa * factors.all / MPA_PER_KSI",
        (NUMBERS,),
    ),
    Mutation(
        "a stress ratio outside the data has a life",
        "geometry/strength/life.py",
        "if not low - 1e-9 <= ratio <= high + 1e-9:\n        return",
        "if False:\n        return",
        (NUMBERS, f"{STRENGTH}/test_bad_input.py"),
    ),
    Mutation(
        "the moment of a test takes the inset off",
        "geometry/strength/loads.py",
        "(mu * radius + inset_mm)",
        "(mu * radius - inset_mm)",
        (NUMBERS,),
    ),
    Mutation(
        "a hoop is pressed as the metal moves away from the axle",
        "geometry/strength/elements.py",
        "plain[:, :, TT, u_r] = over_r",
        "plain[:, :, TT, u_r] = -over_r",
        (f"{CLOSED}::test_long_cylinder_under_an_edge_load",),
    ),
    Mutation(
        "what a harmonic mixes is not mirrored",
        "geometry/strength/elements.py",
        "mixed + mixed.transpose(0, 2, 1), ct @ dc",
        "2.0 * mixed, ct @ dc",
        (f"{STRENGTH}/test_wheel.py::test_works_of_two_loads_are_mutual",),
    ),
    Mutation(
        "a harmonic stiffens by its number",
        "geometry/strength/harmonic.py",
        "data = (zero + harmonic * one + harmonic**2 * two)",
        "data = (zero + harmonic * one + harmonic * two)",
        (f"{CLOSED}::test_pinched_ring",),
    ),
    Mutation(
        "stress round the turn goes by half the angle",
        "geometry/strength/harmonic.py",
        "turns = angles_rad[:, None] * n",
        "turns = angles_rad[:, None] * n / 2.0",
        (f"{CLOSED}::test_stress_of_a_pinched_ring_between_its_loads",),
    ),
    Mutation(
        "every bending test takes the static radius",
        "geometry/strength/loads.py",
        'radius = tyre.dynamic_mm if test.startswith("R124") else tyre.static_mm',
        "radius = tyre.static_mm",
        (f"{NUMBERS}::test_bending_moment",),
    ),
    Mutation(
        "the lower level asks for the steel wheel's cycles",
        "geometry/strength/loads.py",
        "_R124_CYCLES = ((0.75, 2.0e5), (0.5, 1.8e6))",
        "_R124_CYCLES = ((0.75, 2.0e5), (0.5, 6.0e5))",
        (f"{NUMBERS}::test_levels_of_r124",),
    ),
    Mutation(
        "the striker has no mass of its own",
        "geometry/strength/loads.py",
        'c["mass factor"].value * load_kg + c["mass offset"].value',
        'c["mass factor"].value * load_kg',
        (f"{NUMBERS}::test_striker_of_the_13_degree_impact",),
    ),
    Mutation(
        "a fall is half as long for its speed",
        "geometry/strength/loads.py",
        "speed_m_s=math.sqrt(2.0 * GRAVITY_M_S2 * fall)",
        "speed_m_s=math.sqrt(GRAVITY_M_S2 * fall)",
        (f"{NUMBERS}::test_fall_of_the_13_degree_impact",),
    ),
    Mutation(
        "a sample that failed without a factor closes the zone it names alone",
        "app/studies/strength/calibration.py",
        "and (here or misplaced):",
        "and self.zone == zone.value:",
        (
            "tests/unit/studies/strength/test_records.py::test_a_failed_test_without_a_factor_closes_what_it_speaks_of",
        ),
    ),
)


#: Those that take long, and of strength all but one, are tried before a release, and one whose neighbour in
#: the same lines is tried here.
SLOW = (
    "every direction points at every arc",
    "the caps between chord and arc do not count",
    "the best mass found counts as its bound",
    "a wall may be thinned by any reduction",
    "a sample that failed without a factor closes the zone it names alone",
    *(m.name for m in MUTATIONS if m.file.startswith("geometry/strength") and not m.file.endswith("bend.py")),
)
