"""Defects by material, what is usually done about them, and what not to do.

Common practice, no source. The words help to name a finding; any other words are as good.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from recondition.condition.panels import Finish

MATERIAL_OF: Mapping[Finish, str] = {
    Finish.SINGLE_STAGE: "single-stage paint",
    Finish.BASE_CLEAR: "clear coat",
    Finish.LACQUER: "lacquer or cellulose paint",
    Finish.BARE: "bare metal",
    Finish.PLATED: "plated metal",
    Finish.WRAPPED: "film wrap",
}
"""What a place is made of by the finish of its panel, in the words of a finding."""


@dataclass(frozen=True, slots=True)
class Material:
    """A material: its defects in generic words, the usual operations, and what to keep off it.

    ``names`` are words by which a finding's own text for the material is recognised.
    """

    name: str
    names: tuple[str, ...]
    defects: tuple[str, ...]
    operations: tuple[str, ...]
    do_not: str


def _words(text: str) -> tuple[str, ...]:
    """Part a list at its commas."""
    return tuple(part.strip() for part in text.split(","))


MATERIALS = (
    Material(
        "lacquer or cellulose paint",
        ("lacquer paint", "cellulose"),
        _words("crazing, sinkage, solvent sensitivity, bloom"),
        _words("dry clean, mild hand polish, wax, leave"),
        "no strong solvents, no steam, no long heat",
    ),
    Material(
        "single-stage paint",
        ("single-stage", "single stage", "enamel", "acrylic"),
        _words("oxidation, colour fade, wear-through, crack, stain, mottling, thin edge"),
        _words("clean, feed, hand polish, mild machine step, wax"),
        "no heavy compound first: old dry paint is fed before any abrasive",
    ),
    Material(
        "clear-coat paint",
        ("clear",),
        _words(
            "wash swirls, deep scratch, holograms, sanding marks, orange peel, dust nib, run, "
            "water-spot deposit, water-spot etch, bird-lime etch, tar, iron particles, overspray, "
            "haze, clear failure, chip, crack, blister, mismatch, burn-through, ghost of decal"
        ),
        _words("decontaminate, one-step polish, two-stage correction, touch-in, coat, wax"),
        "no sanding of factory clear without readings and headroom",
    ),
    Material(
        "glass",
        ("glass",),
        _words("mineral spots, etched spots, wiper arcs, light scratch, pit, stone chip, haze"),
        _words("spot remover, clay, glass polish, chip resin (sublet)"),
        "no polishing of scratches in the driver's sight; no fluoride acids",
    ),
    Material(
        "suede",
        ("suede",),
        _words("flattened nap, body oil, stain, fading"),
        _words("vacuum, soft brush, damp clean with neutral cleaner"),
        "no soaking, dressing or oil",
    ),
    Material(
        "leather",
        ("leather", "hide"),
        _words("dirt, grease, dye transfer, dry, creasing, finish wear, crack, split seam, mould"),
        _words("vacuum, clean, feed, fill, recolour, seal, re-stitch (sublet)"),
        "no soaking, no strong alkaline cleaner, no recolouring of an original hide unasked",
    ),
    Material(
        "vinyl",
        ("vinyl",),
        _words("crack, shrinkage, stickiness, sun fade"),
        _words("clean, dye, fill, reproduction part"),
        "no shiny dressing",
    ),
    Material(
        "rubber",
        ("rubber", "tyre"),
        _words("chalky, brown bloom, crack, hard, tear, old age"),
        _words("clean, feed, dye, replace"),
        "no silicone near paint work to come",
    ),
    Material(
        "trim plastic",
        ("plastic",),
        _words("grey fade, wax stain, scuff, crack, sticky coating"),
        _words("clean, feed, dye, coat, replace"),
        "no flame or heat without a test",
    ),
    Material(
        "metal",
        ("metal", "chrome", "plat", "anodis", "aluminium", "alloy"),
        _words("haze, pitting, rust through plating, scratches, anodising failure, tarnish"),
        _words("wash, metal polish, seal, replate (sublet)"),
        "no polishing of anodised metal as if it were bare; no acid on it",
    ),
    Material(
        "decal",
        ("decal", "film", "badge", "sticker"),
        _words("fade, crack, lift, shrinkage, missing, wrong type, ghost outline, glue"),
        _words("keep, stabilise edge, remove with heat, residue removal, fit a reproduction"),
        "no removal of a correct original only because it is worn",
    ),
    Material(
        "fabric or carpet",
        ("carpet", "cloth", "fabric", "felt"),
        _words("dust, stain, odour, damp, mould, moth, fade, wear hole"),
        _words("vacuum, dry foam, extract, dye, re-edge (sublet)"),
        "no over-wetting: rust lies beneath; a glued headlining is never cleaned wet",
    ),
)


def material_named(text: str | None) -> Material | None:
    """Give the material that a finding's own words name, None where none is recognised."""
    folded = (text or "").casefold()
    for material in MATERIALS:
        if any(name in folded for name in (material.name, *material.names)):
            return material
    return None
