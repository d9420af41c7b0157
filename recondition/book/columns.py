"""How columns of a book's tables are declared: one word for each kind of column."""

from __future__ import annotations

from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Integer, MetaData, Table, Text
from sqlalchemy.schema import SchemaItem

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def to_record() -> ForeignKey:
    """Point at a record; held at commit, since rows of one import may name one another."""
    return ForeignKey("record.id", deferrable=True, initially="DEFERRED")


def text(name: str, comment: str, *, required: bool = False) -> Column[str]:
    """Declare a text column."""
    return Column(name, Text, nullable=not required, comment=comment)


def flag(name: str, comment: str) -> Column[bool]:
    """Declare a true/false column."""
    return Column(name, Boolean, comment=comment)


def count(name: str, comment: str) -> Column[int]:
    """Declare a whole-number column."""
    return Column(name, Integer, comment=comment)


def minor(name: str, comment: str) -> Column[int]:
    """Declare a money column in minor units of the home currency."""
    return Column(f"{name}_minor", BigInteger, comment=f"{comment}, minor units")


def three_minor(name: str, comment: str) -> list[Column[int]]:
    """Declare low, likely and high money columns."""
    return [minor(f"{name}_{point}", f"{comment}, {point}") for point in ("low", "likely", "high")]


def three_text(name: str, comment: str) -> list[Column[str]]:
    """Declare low, likely and high exact-number columns."""
    return [text(f"{name}_{point}", f"{comment}, {point}") for point in ("low", "likely", "high")]


def refers(name: str, comment: str) -> Column[str]:
    """Declare a column that names another entity by the id of its first record."""
    return Column(name, to_record(), nullable=True, index=True, comment=comment)


def posted(name: str, *columns: SchemaItem) -> Table:
    """Declare a posted table: one row a record."""
    key: Column[str] = Column(
        "record_id", to_record(), primary_key=True, comment="the chained record"
    )
    return Table(name, METADATA, key, *columns)


def reverses(comment: str) -> Column[str]:
    """Declare the column that names what a record takes back; that happens once."""
    return Column("reverses", to_record(), nullable=True, unique=True, comment=comment)


def amount(name: str, comment: str) -> list[Column[str]]:
    """Declare the two columns of a quantity: number and unit."""
    return [text(f"{name}_number", comment), text(f"{name}_unit", "unit of that")]


def rework() -> list[Column[str]]:
    """Declare what work that is done again says of itself."""
    return [
        refers("rework_of", "line whose work is done again"),
        text("rework_cause", "why it is done again"),
        text("rework_payer", "who bears it"),
    ]


def window() -> list[Column[str]]:
    """Declare when a decal may be fitted, and what was met."""
    return [
        *amount("window_surface_low", "lowest surface temperature"),
        *amount("window_surface_high", "highest surface temperature"),
        *amount("window_surface", "surface temperature that was read"),
        *amount("window_dry_for", "how long it stays dry"),
    ]


def measure() -> list[Column[str]]:
    """Declare what was read off to find an amount."""
    return [
        text("measure_way", "how the amount was measured"),
        *amount("measure_gross_before", "weight before"),
        *amount("measure_gross_after", "weight after"),
        *amount("measure_tare", "weight when empty"),
        *amount("measure_resolution", "step of the scale"),
        text("measure_density_g_ml", "density that was used"),
        text("measure_strokes", "pump strokes"),
        *amount("measure_per_stroke", "what one stroke gives"),
        *amount("measure_sprayed", "ready mix used"),
        text("measure_level_before", "how full it was, as a fraction"),
        text("measure_level_after", "how full it was afterwards"),
        *amount("measure_holds", "what it holds when full"),
        *amount("measure_uncertainty", "stated uncertainty of the amount"),
    ]


def foreign() -> list[Column[Any]]:
    """Declare an amount in the document's own currency, with the rate that was used."""
    return [
        Column("foreign_amount_minor", BigInteger, comment="minor units of its own currency"),
        text("foreign_amount_currency", "that currency"),
        text("foreign_rate", "home currency for one of it"),
        text("foreign_source", "whose rate"),
    ]


def booked(*amounts: str) -> list[Column[Any]]:
    """Declare the posting period and amounts that were worked out when it was booked."""
    return [
        text("period", "posting period YYYY-MM"),
        *(minor(name, f"{name.replace('_', ' ')}, worked out") for name in amounts),
    ]
