"""Round bodies near circles: values of an independent solution, closed forms, laws."""

import pickle
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from metal_cases import COPPER_WASHER, INNER, IRON_ROD, MM, OUTER, STEEL_DISC, circles, skin_depth
from scipy.integrate import quad
from scipy.special import iv, jv

from coilgen.physics.base.constants import MU0
from coilgen.physics.metal.relaxation import (
    added_impedance,
    added_inductance,
    body_losses,
)
from coilgen.physics.metal.ring_field import Rings
from coilgen.physics.metal.round_bodies import (
    flux_after_step,
    metals_about,
    round_metal,
)
from coilgen.physics.metal.round_mesh import RoundBody

FREQUENCY = np.array([1e2, 1e4, 1e5, 1e6])
# Finite elements of 10 to 44 thousand unknowns, one frequency at a time, 0.05 % (computed, not published).
CHECKS = {
    "copper washer": (
        COPPER_WASHER,
        INNER,
        [-0.23431e-9, -532.00e-9, -736.91e-9, -755.36e-9],
        [8.0396e-6, 1.9548e-2, 3.3351e-2, 9.0717e-2],
        0.0,
    ),
    "steel disc": (
        STEEL_DISC,
        INNER,
        [717.24e-9, 636.42e-9, 457.31e-9, 55.91e-9],
        [5.2245e-6, 4.9678e-3, 1.21646e-1, 1.92124],
        719.82e-9,
    ),
    "iron rod": (
        IRON_ROD,
        OUTER,
        [381.83e-9, 324.34e-9, 205.06e-9, -0.45e-9],
        [3.8682e-6, 3.3528e-3, 7.0265e-2, 8.0921e-1],
        385.77e-9,
    ),
}


@pytest.mark.parametrize("name", CHECKS)
def test_check_values(name):
    body, rings, inductance, resistance, static = CHECKS[name]
    metal = round_metal([body], rings, 10.0, 1e6, detail=0.3 * MM).relaxation
    assert metal.static == pytest.approx(static, rel=1e-3, abs=1e-15)
    assert added_inductance(metal, FREQUENCY).real == pytest.approx(inductance, rel=3e-3, abs=1e-3 * static)
    assert added_impedance(metal, FREQUENCY).real == pytest.approx(resistance, rel=3e-3)


@pytest.mark.parametrize("factor", [1.5, 6.0])
def test_permeabilities_to_either_side(factor):
    """Answered together they are what each is by itself; far off each is found by itself."""
    disc = replace(STEEL_DISC, bottom=STEEL_DISC.bottom - MM, top=STEEL_DISC.bottom)
    pin = replace(STEEL_DISC, outer=1.5 * MM, bottom=STEEL_DISC.bottom + 0.1 * MM, top=0.4 * MM)
    known = round_metal([disc, pin], INNER, 10.0, 1e6, detail=0.3 * MM)
    others = [
        [replace(body, permeability=by * body.permeability) for body in (disc, pin)]
        for by in (1 / factor, factor)
    ]
    found = metals_about(known, others, INNER, 10.0, 1e6, detail=0.3 * MM)
    for together, bodies in zip(found, others, strict=True):
        alone = round_metal(bodies, INNER, 10.0, 1e6, detail=0.3 * MM)
        told, wanted = (added_inductance(each.relaxation, FREQUENCY) for each in (together, alone))
        assert told.real == pytest.approx(wanted.real, abs=2e-3 * alone.relaxation.static)
        assert told.imag == pytest.approx(wanted.imag, rel=6e-3)
        assert together.static_flux == pytest.approx(alone.static_flux, rel=1e-2)


def test_what_others_begin_with_comes_from_another_process_as_it_was():
    known = round_metal([STEEL_DISC], INNER, 10.0, 1e6, detail=0.3 * MM)
    told = pickle.loads(pickle.dumps(known))
    assert [*vars(told.subspace)] == ["packed"]
    other = [replace(STEEL_DISC, permeability=1.2 * STEEL_DISC.permeability)]
    ways = [round_metal(other, INNER, 10.0, 1e6, detail=0.3 * MM, like=each) for each in (known, told)]
    assert np.array_equal(ways[0].relaxation.amplitude, ways[1].relaxation.amplitude)
    assert np.array_equal(told.subspace.basis, known.subspace.basis)
    with pytest.raises(AttributeError, match="mesh"):
        _ = told.subspace.mesh


def test_step_of_current_near_steel():
    """The same disc after one ampere is switched on (same source)."""
    metal = round_metal([STEEL_DISC], INNER, 10.0, 1e6, detail=0.3 * MM).relaxation
    fade = np.exp(-np.array([[1e-6], [1e-5], [1e-4], [1e-3]]) / metal.time)
    linkage = metal.static - (metal.strength * fade).sum(axis=1)
    assert linkage == pytest.approx([455.6e-9, 635.8e-9, 696.7e-9, 716.3e-9], rel=3e-3)


def uniform_field(reach: float) -> Rings:
    """A pair of circles whose field is even to the fourth order about the origin (Helmholtz)."""
    return Rings(
        radius=np.array([reach, reach]), height=np.array([-0.5, 0.5]) * reach, share=np.array([1.0, 1.0])
    )


def body_flux(metal, frequency):
    """Flux in each body, (n, bodies) Wb, of one ampere at frequencies (n,) Hz."""
    turn = 2j * np.pi * frequency[:, None] * metal.relaxation.time
    return metal.static_flux - (metal.relaxation.amplitude * turn / (1.0 + turn)) @ metal.flux.T


def test_infinite_cylinder():
    """B(r) = B0 I0(k r) / I0(k R), k = (1 + j) / skin depth: the flux through the rod."""
    rod = RoundBody(inner=0.0, outer=MM, bottom=-60 * MM, top=60 * MM, conductivity=58e6)
    frequency = np.array([1e3, 1e4, 1e5])
    metal = round_metal([rod], uniform_field(1.0), 1.0, 1e7, detail=0.1)
    found = body_flux(metal, frequency)[:, 0] / metal.static_flux[0]
    k = (1 + 1j) / np.array([skin_depth(58e6, f) for f in frequency])
    closed = 2 * iv(1, k * MM) / (k * MM * iv(0, k * MM))
    assert np.abs(found - closed).max() < 5e-3


@pytest.mark.slow
def test_sphere():
    """Field at the centre p / sinh p, p = (1 + j) R / skin depth; the sphere of discs."""
    radius, slices = 50 * MM, 24
    angle = np.pi * np.arange(slices + 1) / slices
    edges = -radius * np.cos(angle)
    discs = [
        RoundBody(
            inner=0.0,
            outer=float(np.sqrt(radius**2 - (a * a + a * b + b * b) / 3)),
            bottom=float(a),
            top=float(b),
            conductivity=1.6e7,
        )
        for a, b in pairwise(edges)
    ]
    probe = RoundBody(inner=0.0, outer=2 * MM, bottom=-MM, top=MM, conductivity=0.0)
    metal = round_metal([*discs, probe], uniform_field(2.0), 1.0, 200.0, detail=0.1)
    found = body_flux(metal, np.array([50.0]))[0, -1] / metal.static_flux[-1]
    p = (1 + 1j) * radius / skin_depth(1.6e7, 50.0)
    assert abs(found / (p / np.sinh(p)) - 1) < 5e-3
    assert abs(found) == pytest.approx(0.48, abs=5e-3)
    assert np.degrees(np.angle(found)) == pytest.approx(-116, abs=1)


def over_layer(rings, gap, body_thickness, conductivity, permeability, frequency):
    """Integral for a layer without edges under circles at z = 0 (C. V. Dodd and W. E. Deeds, Journal of
    Applied Physics 39, 1968)."""
    s = 2j * np.pi * frequency

    def integrand(k):
        alpha = np.sqrt(k * k + s * MU0 * permeability * conductivity)
        beta, wave = alpha / permeability, np.tanh(alpha * body_thickness)
        y = beta * (k + beta * wave) / (beta + k * wave)
        source = np.sum(rings.radius * jv(1, k * rings.radius)) * np.exp(-k * gap)
        return np.pi * MU0 * source**2 * (k - y) / (k + y)

    parts = [
        quad(lambda k, part=part: getattr(integrand(k), part), 0, 2e4, limit=400)[0]
        for part in ("real", "imag")
    ]
    return complex(*parts)


@pytest.mark.parametrize("permeability", [1.0, 200.0])
def test_wide_plate_is_a_layer(permeability):
    gap = 0.5 * MM
    plate = RoundBody(
        inner=0.0, outer=40 * MM, bottom=-2.5 * MM, top=-gap, conductivity=2e7, permeability=permeability
    )
    frequency = np.array([1e4, 1e5])
    metal = round_metal([plate], INNER, 1e3, 1e5, detail=gap).relaxation
    found = added_inductance(metal, frequency)
    closed = [over_layer(INNER, gap, 2 * MM, 2e7, permeability, f) for f in frequency]
    assert np.abs(found / closed - 1).max() < 5e-3


def test_loss_by_body_is_the_resistance():
    """Half the added resistance per square ampere of amplitude, shared by the bodies that make it."""
    aluminium = RoundBody(inner=0.0, outer=15 * MM, bottom=-4 * MM, top=-2 * MM, conductivity=25e6)
    metal = round_metal([STEEL_DISC, aluminium], INNER, 10.0, 1e6, detail=0.3 * MM).relaxation
    heat = body_losses(metal, FREQUENCY, 0.1)
    assert heat.sum(axis=1) == pytest.approx(0.01 * added_impedance(metal, FREQUENCY).real)
    assert np.all(heat > 0)
    assert heat[0, 0] > heat[0, 1]


def test_thin_disc_in_slow_field():
    """Loss at low frequency pi sigma t omega^2 |B|^2 R^4 / 8 of a disc in an even field (textbook form)."""
    disc = RoundBody(inner=0.0, outer=5 * MM, bottom=-0.05 * MM, top=0.05 * MM, conductivity=5e7)
    rings = uniform_field(200 * MM)
    metal = round_metal([disc], rings, 1.0, 1e3, detail=10 * MM).relaxation
    field = 2 * (4 / 5) ** 1.5 * MU0 / 2 / (200 * MM)
    closed = np.pi * 5e7 * 1e-4 * (2 * np.pi * 10 * field) ** 2 * (5 * MM) ** 4 / 8
    assert float(body_losses(metal, 10.0)[0]) == pytest.approx(closed, rel=2e-3)


def test_flux_rises_to_that_of_direct_current():
    metal = round_metal([IRON_ROD], OUTER, 10.0, 1e6, detail=MM)
    flux = flux_after_step(metal, np.array([0.0, 1e-5, 1e-3, 1.0]))[:, 0]
    assert abs(flux[0]) < 1e-3 * flux[-1]
    assert np.all(np.diff(flux) > 0)
    assert flux[-1] == pytest.approx(metal.static_flux[0])


bodies = st.builds(
    lambda inner, wall, gap, thick, conductivity, permeability: RoundBody(
        inner=inner * MM,
        outer=(inner + wall) * MM,
        bottom=-(gap + thick) * MM,
        top=-gap * MM,
        conductivity=conductivity,
        permeability=permeability,
    ),
    st.one_of(st.just(0.0), st.floats(1.0, 8.0)),
    st.floats(1.0, 15.0),
    st.floats(0.2, 5.0),
    st.floats(0.05, 5.0),
    st.floats(1e5, 6e7),
    st.one_of(st.just(1.0), st.floats(2.0, 5000.0)),
)


@settings(max_examples=8, deadline=None)
@given(body=bodies)
def test_metal_takes_in_energy(body):
    """Resistance rises with frequency, inductance falls, between those of direct current and of shields."""
    metal = round_metal([body], circles(3 * MM, 6), 10.0, 1e5, detail=0.5 * MM).relaxation
    added = added_inductance(metal, np.geomspace(1.0, 1e7, 60))
    assert np.all(metal.time > 0)
    assert np.all(np.diff(added.real) <= 0)
    assert np.all(np.diff(added_impedance(metal, np.geomspace(1.0, 1e7, 60)).real) >= 0)
    assert metal.perfect < 0 <= metal.static + 1e-15
    assert metal.perfect <= added.real[-1] <= added.real[0] <= metal.static * (1 + 1e-12)
