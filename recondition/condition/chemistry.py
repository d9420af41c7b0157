"""What a product is by its safety data sheet, and which surfaces it must be kept off.

The pH stands in section 9 of the sheet, found by its name: its place there differs between
editions. A pH of 2 or less, or 11.5 or more, points to skin corrosion (CLP Annex I, 3.2.2.2;
bounds included). That below 6 counts as acid here and above 8.5 as alkaline is common
practice, no source; aluminium's oxide dissolves outside about 4 to 8.5 (from memory). CAS
numbers of hydrofluoric acid and its acid salts are from memory. pH = -log10 of the hydronium
ions: OpenStax Chemistry, "pH and pOH".
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from recondition.condition.panels import Finish, Substrate

CORROSIVE_LOW, CORROSIVE_HIGH = Decimal(2), Decimal("11.5")
ACID_BELOW, ALKALINE_ABOVE = Decimal(6), Decimal("8.5")

NEUTRAL = Decimal(7)
HARMLESS = "neither acid nor alkaline nor a solvent"
_FLUORIDE = (
    "hydrofluoric", "hydrogen fluoride", "bifluoride", "hydrogen difluoride",
    "hydrogendifluoride", "7664-39-3", "1341-49-7", "1333-83-1",
)  # fmt: skip
_ISOCYANATE = ("isocyanate", "euh204", "two-pack", "2k ")
_SOLVENT = ("h224", "h225", "h226", "solvent", "thinner", "alcohol", "tar remover", "wipe-down")


def ph_of(hydronium_mol_l: Decimal) -> Decimal:
    """Give the pH of a solution: -log10 of its hydronium ions in mol/l."""
    return -hydronium_mol_l.log10()


def diluted(ph: Decimal, times: Fraction) -> Decimal:
    """Give the pH that a product is diluted to at most, when it is made ``times`` as much.

    That is the pH of something unbuffered: a buffer, as most cleaners have, moves less. Neutral
    is 7, and the ions of water multiply to 1e-14 (25 degrees Celsius, from memory).
    """
    weaker = Decimal(times.denominator) / Decimal(times.numerator)
    if ph < NEUTRAL:
        return min(ph_of(Decimal(10) ** -ph * weaker), NEUTRAL)
    return max(2 * NEUTRAL - ph_of(Decimal(10) ** (ph - 2 * NEUTRAL) * weaker), NEUTRAL)


@dataclass(frozen=True, slots=True)
class Nature:
    """What a product is, as far as its sheet says.

    ``known`` is false where neither pH nor hazards nor ingredients are on file.
    """

    name: str
    known: bool
    ph: Decimal | None = None
    ph_to: Decimal | None = None
    fluoride: bool = False
    isocyanate: bool = False
    solvent: bool = False

    @property
    def acid(self) -> bool:
        """Whether its lower pH is acid."""
        return self.ph is not None and self.ph < ACID_BELOW

    @property
    def alkaline(self) -> bool:
        """Whether its upper pH is alkaline."""
        top = self.ph if self.ph_to is None else self.ph_to
        return top is not None and top > ALKALINE_ABOVE

    @property
    def corrosive(self) -> bool:
        """Whether its pH points to skin corrosion (CLP Annex I, 3.2.2.2)."""
        top = self.ph if self.ph_to is None else self.ph_to
        low = self.ph is not None and self.ph <= CORROSIVE_LOW
        return low or (top is not None and top >= CORROSIVE_HIGH)

    @property
    def words(self) -> str:
        """Say what it is."""
        said = [
            word
            for word, true in (
                ("acid", self.acid),
                ("alkaline", self.alkaline),
                ("solvent", self.solvent),
                ("with hydrofluoric acid or its acid salts", self.fluoride),
                ("with isocyanates", self.isocyanate),
            )
            if true
        ]
        if not self.known:
            return "not known: no pH, hazards or ingredients of its data sheet are on file"
        return ", ".join(said) or HARMLESS


def nature(name: str, ph: Decimal | None, ph_to: Decimal | None, *texts: str | None) -> Nature:
    """Read a product's nature from its pH and the texts of its sheet (hazards, ingredients...).

    The first text is the material type, which alone does not make the nature known.
    """
    material, *sheet = [(text or "").casefold() for text in texts]
    text = " ".join([material, *sheet]) + " "
    return Nature(
        name,
        ph is not None or any(sheet),
        ph,
        ph_to,
        fluoride=any(word in text for word in _FLUORIDE),
        isocyanate=any(word in text for word in _ISOCYANATE),
        solvent=any(word in text for word in _SOLVENT),
    )


@dataclass(frozen=True, slots=True)
class Surface:
    """What a panel is made of and finished with; ``material`` is the words of its findings."""

    panel: str
    substrate: Substrate = Substrate.UNKNOWN
    finish: Finish = Finish.UNKNOWN
    material: str = ""

    def says(self, *words: str) -> bool:
        """Tell whether the finding's words for the material name one of these."""
        return any(re.search(rf"\b{word}", self.material) for word in words)

    @property
    def bare_metal(self) -> bool:
        """Whether metal lies open."""
        return self.finish is Finish.BARE or self.says("bare", "polished metal")

    @property
    def anodised(self) -> bool:
        """Whether it is anodised."""
        return self.says("anodi[sz]ed")

    @property
    def bare_aluminium(self) -> bool:
        """Whether aluminium lies open."""
        aluminium = self.substrate is Substrate.ALUMINIUM or self.says("alumin", "alloy")
        return aluminium and self.bare_metal

    @property
    def old_lacquer(self) -> bool:
        """Whether it is lacquer or cellulose."""
        return self.finish is Finish.LACQUER or self.says("cellulose", "lacquer paint")


def clash(product: Nature, surface: Surface) -> str:
    """Say why a product must be kept off a surface; empty where nothing is known against it."""
    where = f"the {surface.panel}"
    strong = product.corrosive and product.alkaline
    found = (
        (
            product.fluoride and surface.says("glass"),
            f"fluoride acids etch glass, and {where} is glass",
        ),
        (product.acid and surface.anodised, f"acid eats the anodised layer of {where}"),
        (product.acid and surface.bare_metal, f"acid attacks the bare metal of {where}"),
        (
            product.alkaline and surface.bare_aluminium,
            f"alkali etches the bare aluminium of {where}",
        ),
        (product.alkaline and surface.anodised, f"alkali dissolves the anodised layer of {where}"),
        (product.solvent and surface.old_lacquer, f"solvent softens the old lacquer of {where}"),
        (
            strong and surface.says("leather", "hide"),
            f"strong alkali breaks down the leather of {where}",
        ),
    )
    return next((why for meets, why in found if meets), "")
