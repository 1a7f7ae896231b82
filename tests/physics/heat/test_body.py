"""Refusals and measures of what a coil's heat is reckoned from."""

import math
from dataclasses import replace

import pytest
from heat_cases import bare, board, on_steel, steel

from coilgen.physics.heat.body import (
    Assembly,
    CopperLayer,
    Laminate,
    PocketCore,
    Supply,
    Surroundings,
    bounded,
)
from coilgen.physics.heat.outline import Outline, disc, rectangle


def test_outlines():
    assert disc(0.02).radius == pytest.approx(0.01)
    assert rectangle(0.02, 0.03).area == pytest.approx(6e-4)
    assert rectangle(0.02, 0.03).height == 0.03
    assert math.pi * rectangle(0.02, 0.03).radius ** 2 == pytest.approx(6e-4)


def test_thickness_and_resistance_are_sums():
    assert board(layers=4, thickness=1.5e-3).thickness == pytest.approx(1.5e-3 + 4 * 35e-6)
    assert board(resistance=7.0, layers=4).resistance_20c == pytest.approx(7.0)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Outline(area=1.0, perimeter=1.0, height=1.0),
        lambda: disc(0.0),
        lambda: replace(board(), winding_inner_radius=9.6e-3),
        lambda: replace(board(), winding_outer_radius=11e-3),
        lambda: replace(board(), hole_radius=4e-3),
        lambda: replace(board(), dielectric=()),
        lambda: replace(board(), emissivity=1.1),
        lambda: board(resistance=0.0),
        lambda: CopperLayer(thickness=35e-6, coverage=1.2),
        lambda: CopperLayer(thickness=-1e-6),
        lambda: Laminate(conductivity=0.0, conductivity_in_plane=1, density=1, heat_capacity=1),
        lambda: steel(contact=-1e-3),
        lambda: steel(contact=1e-4),
        lambda: replace(steel(), inner_radius=0.03),
        lambda: Supply(),
        lambda: Supply(voltage=1.0, current=1.0),
        lambda: Supply(voltage=1.0, on_share=0.0),
        lambda: Surroundings(convection_factor=0.0),
        lambda: Surroundings(ambient=-200.0),
        lambda: Surroundings(forced_coefficient=-1.0),
        lambda: replace(bare(), temperature_coefficient=-1e-3),
        lambda: replace(
            bare(),
            core=PocketCore(contact_area=1e-5, contact=1e-4, heat_capacity=1.0, surface_area=1e-4),
        ),
    ],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w"):
        wrong()


def test_bounds_take_convection_and_contacts_to_their_ends():
    room = Surroundings(convection_band=(0.8, 1.4))
    cool, hot = bounded(on_steel(room), air=1, joints=0), bounded(on_steel(room), air=0, joints=1)
    assert cool.surroundings.convection_factor == 1.4
    assert hot.surroundings.convection_factor == 0.8
    assert (cool.bottom.contact, hot.bottom.contact) == (1e-3, 4e-3)
    assert bounded(bare(), air=1, joints=0).bottom is None


def test_plates_on_both_faces_are_bounded():
    both = Assembly(board=board(), surroundings=Surroundings(), top=steel(), bottom=steel())
    assert bounded(both, air=1, joints=0).top.contact == bounded(both, air=1, joints=0).bottom.contact == 1e-3
