"""Body styles switch panels on and off; half-typed panel names are completed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.condition.bodies import PanelNotClear, Style, body_of, completed
from recondition.condition.panels import PANELS, TOGETHER, area_of, members, same_panel

COUPE = body_of("two-door coupe")


@pytest.mark.parametrize(
    ("words", "style", "rear_doors", "off", "on"),
    [
        ("two-door coupe", Style.COUPE, False, "left rear door, tailgate, soft-top outer",
         "boot lid, roof"),
        ("Saloon", Style.SALOON, True, "tailgate, hardtop", "left rear door, boot lid"),
        ("2-door saloon", Style.SALOON, False, "right rear door", "boot lid"),
        ("drophead coupe", Style.COUPE, False, "tailgate", "boot lid"),
        ("two-door cabriolet", Style.CONVERTIBLE, False, "roof, tailgate, left C-pillar",
         "soft-top outer, hardtop, rear seat"),
        ("roadster", Style.ROADSTER, False, "rear seat, roof", "soft-top outer"),
        ("estate", Style.ESTATE, True, "boot lid, soft-top outer", "tailgate, left rear door"),
        ("pick-up", Style.PICK_UP, False, "rear seat, boot lid", "tailgate"),
        (None, None, True, "", "tailgate, boot lid, soft-top outer, left rear door"),
        ("phaeton", None, True, "", "roof"),
    ],
)  # fmt: skip
def test_a_body_style_switches_panels(
    words: str | None, style: Style | None, off: str, on: str, *, rear_doors: bool
) -> None:
    body = body_of(words)
    assert (body.style, body.rear_doors) == (style, rear_doors)
    assert all(not body.has(panel) for panel in off.split(", ") if panel)
    assert all(body.has(panel) for panel in on.split(", "))
    assert set(body.panels()).isdisjoint(TOGETHER)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("bonnet", "bonnet"),
        ("Bonn", "bonnet"),
        ("l f wing", "left front wing"),
        ("rfd", "right front door"),
        ("left fr do", "left front door"),
        ("rrq", "right rear quarter"),
        ("rear win", "rear window"),
        ("windsc", "windscreen"),
        ("all gl", "all glass"),
        ("petrol flap lid", "petrol flap lid"),
    ],
)
def test_a_half_typed_panel_is_completed(typed: str, meant: str) -> None:
    assert completed(typed, COUPE) == meant


def test_what_fits_several_panels_is_asked_about() -> None:
    with pytest.raises(PanelNotClear, match="left front door, right front door"):
        completed("front door", COUPE)
    assert completed("rear door", COUPE) == "rear door"  # a coupe has none: the user's own name
    with pytest.raises(PanelNotClear):
        completed("rear door", body_of("saloon"))


@given(st.sampled_from([p for panels in PANELS.values() for p in panels]))
def test_a_full_name_is_always_itself(panel: str) -> None:
    assert completed(panel.upper(), body_of(None)) == panel
    assert area_of(panel) is not None
    assert set(members(panel)) <= {p for panels in PANELS.values() for p in panels}


def test_names_that_share_a_panel() -> None:
    assert same_panel("all painted panels", "roof")
    assert same_panel(None, "roof")
    assert not same_panel("roof", "bonnet")
    assert not same_panel("all wheels", "roof")
