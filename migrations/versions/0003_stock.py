"""Stock, measured use, clocks, orders, and what owners allowed.

Posted tables get new columns and stay what they are: none is rebuilt. New tables get their
guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def _add(table: str, name: str, kind: str, comment: str, *, refers: bool = False) -> None:
    """Add a column; one that names a record is checked at commit, as all of them are."""
    held = f'CONSTRAINT "fk_{table}_{name}" REFERENCES record (id) DEFERRABLE INITIALLY DEFERRED'
    op.execute(sa.DDL(f'ALTER TABLE "{table}" ADD COLUMN "{name}" {kind} {held if refers else ""}'))
    if op.get_bind().dialect.name == "postgresql":
        quoted = comment.replace("'", "''").replace("%", "%%")
        op.execute(sa.DDL(f'COMMENT ON COLUMN "{table}"."{name}" IS \'{quoted}\''))
    if refers:
        op.create_index(op.f(f"ix_{table}_{name}"), table, [name], unique=False)


def upgrade() -> None:  # noqa: PLR0915 - one statement a column
    """Add the columns, make the tables, then the guards."""
    _add("line", "rework_of", "TEXT", "line whose work is done again", refers=True)
    _add("line", "rework_cause", "TEXT", "why it is done again")
    _add("line", "rework_payer", "TEXT", "who bears it")
    _add("line", "loss", "TEXT", "normal or abnormal")
    _add("line", "order", "TEXT", "order it comes from", refers=True)
    _add("line", "window_surface_low_number", "TEXT", "lowest surface temperature")
    _add("line", "window_surface_low_unit", "TEXT", "unit of that")
    _add("line", "window_surface_high_number", "TEXT", "highest surface temperature")
    _add("line", "window_surface_high_unit", "TEXT", "unit of that")
    _add("line", "window_surface_number", "TEXT", "surface temperature that was read")
    _add("line", "window_surface_unit", "TEXT", "unit of that")
    _add("line", "window_dry_for_number", "TEXT", "how long it stays dry")
    _add("line", "window_dry_for_unit", "TEXT", "unit of that")
    _add("line", "bay_number", "TEXT", "how long the bay was taken")
    _add("line", "bay_unit", "TEXT", "unit of that")
    _add("line", "elapsed_number", "TEXT", "time by the clock")
    _add("line", "elapsed_unit", "TEXT", "unit of that")
    _add("line", "billed_time_number", "TEXT", "time an owner pays for")
    _add("line", "billed_time_unit", "TEXT", "unit of that")
    _add("line", "taken", "TEXT", "hours by the clock or afterwards")
    _add("line", "started_at", "TEXT", "ISO 8601 with zone")
    _add("line", "ended_at", "TEXT", "ISO 8601 with zone")
    _add("line", "clock", "TEXT", "clock the hours come from", refers=True)
    _add("line", "use", "TEXT", "used or wasted")
    _add("line", "counted_number", "TEXT", "what a count found")
    _add("line", "counted_unit", "TEXT", "unit of that")
    _add("line", "measure_way", "TEXT", "how the amount was measured")
    _add("line", "measure_gross_before_number", "TEXT", "weight before")
    _add("line", "measure_gross_before_unit", "TEXT", "unit of that")
    _add("line", "measure_gross_after_number", "TEXT", "weight after")
    _add("line", "measure_gross_after_unit", "TEXT", "unit of that")
    _add("line", "measure_tare_number", "TEXT", "weight when empty")
    _add("line", "measure_tare_unit", "TEXT", "unit of that")
    _add("line", "measure_resolution_number", "TEXT", "step of the scale")
    _add("line", "measure_resolution_unit", "TEXT", "unit of that")
    _add("line", "measure_density_g_ml", "TEXT", "density that was used")
    _add("line", "measure_strokes", "TEXT", "pump strokes")
    _add("line", "measure_per_stroke_number", "TEXT", "what one stroke gives")
    _add("line", "measure_per_stroke_unit", "TEXT", "unit of that")
    _add("line", "measure_sprayed_number", "TEXT", "ready mix used")
    _add("line", "measure_sprayed_unit", "TEXT", "unit of that")
    _add("line", "measure_level_before", "TEXT", "how full it was, as a fraction")
    _add("line", "measure_level_after", "TEXT", "how full it was afterwards")
    _add("line", "measure_holds_number", "TEXT", "what it holds when full")
    _add("line", "measure_holds_unit", "TEXT", "unit of that")
    _add("line", "measure_uncertainty_number", "TEXT", "stated uncertainty of the amount")
    _add("line", "measure_uncertainty_unit", "TEXT", "unit of that")
    _add("line", "receipt", "TEXT", "batch it came from", refers=True)
    _add("line", "container", "TEXT", "container it came from", refers=True)
    _add("line", "mixed", "TEXT", "mixed batch it came from", refers=True)
    _add("product", "container_size_number", "TEXT", "how much one full container holds")
    _add("product", "container_size_unit", "TEXT", "unit of that")
    _add("product", "density_g_ml", "TEXT", "density from section 9 of the safety data sheet")
    _add("product", "sds_date", "TEXT", "day of that sheet")
    _add("product", "ph", "TEXT", "pH on that sheet, or its lower end")
    _add("product", "ph_to", "TEXT", "upper end of the pH")
    _add("product", "shelf_life_open_number", "TEXT", "how long it keeps once opened")
    _add("product", "shelf_life_open_unit", "TEXT", "unit of that")
    _add("product", "hazards", "TEXT", "hazard statements as printed")
    _add("product", "dilution_label", "TEXT", "dilution as the label prints it")
    _add("product", "product_parts", "TEXT", "parts of product")
    _add("product", "water_parts", "TEXT", "parts of water")
    _add("product", "expected_uses", "INTEGER", "uses of one piece")
    _add("product", "reorder_at_number", "TEXT", "at or below this an order is due")
    _add("product", "reorder_at_unit", "TEXT", "unit of that")
    _add("rate", "basis_wage_minor", "BIGINT", "wage per paid hour, minor units")
    _add("rate", "basis_on_cost", "TEXT", "on-costs, as a fraction of the wage")
    _add("rate", "basis_paid_hours", "TEXT", "paid hours")
    _add("rate", "basis_productive_hours", "TEXT", "productive hours of those")
    _add(
        "rate",
        "basis_overhead_per_hour_minor",
        "BIGINT",
        "overhead per productive hour, minor units",
    )
    _add("rate", "basis_profit_per_hour_minor", "BIGINT", "profit per hour, minor units")
    tables: dict[str, sa.Table] = {}

    tables["approval"] = op.create_table(
        "approval",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("answered_on", sa.Text(), nullable=False, comment="day of the answer"),
        sa.Column("answer", sa.Text(), nullable=False, comment="approved or declined"),
        sa.Column(
            "amount_minor", sa.BigInteger(), nullable=True, comment="what was approved, minor units"
        ),
        sa.Column("how", sa.Text(), nullable=False, comment="how it was given"),
        sa.Column("by", sa.Text(), nullable=True, comment="who gave it"),
        sa.Column(
            "limit_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what may be billed in all, minor units",
        ),
        sa.Column("request", sa.Text(), nullable=True, comment="change request it answers"),
        sa.ForeignKeyConstraint(
            ["by"],
            ["record.id"],
            name=op.f("fk_approval_by"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_approval_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["request"],
            ["record.id"],
            name=op.f("fk_approval_request"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_approval_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_approval")),
    )
    tables["change_request"] = op.create_table(
        "change_request",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("asked_on", sa.Text(), nullable=False, comment="day the owner was asked"),
        sa.Column(
            "amount_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what it would be billed at, minor units",
        ),
        sa.Column(
            "limit_minor",
            sa.BigInteger(),
            nullable=True,
            comment="the limit asked for, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_change_request_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_change_request_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_change_request")),
    )
    tables["clock"] = op.create_table(
        "clock",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="on which vehicle"),
        sa.Column("person", sa.Text(), nullable=True, comment="whose clock"),
        sa.Column("operation", sa.Text(), nullable=True, comment="operation"),
        sa.Column("panel", sa.Text(), nullable=True, comment="panel"),
        sa.Column("candidate", sa.Text(), nullable=True, comment="candidate work"),
        sa.Column("unlinked", sa.Text(), nullable=True, comment="why it serves no finding"),
        sa.Column("rework_of", sa.Text(), nullable=True, comment="line whose work is done again"),
        sa.Column("rework_cause", sa.Text(), nullable=True, comment="why it is done again"),
        sa.Column("rework_payer", sa.Text(), nullable=True, comment="who bears it"),
        sa.Column("stopped", sa.Boolean(), nullable=True, comment="whether it was stopped"),
        sa.ForeignKeyConstraint(
            ["candidate"],
            ["record.id"],
            name=op.f("fk_clock_candidate"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_clock_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_clock_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["rework_of"],
            ["record.id"],
            name=op.f("fk_clock_rework_of"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_clock_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_clock")),
    )
    tables["container"] = op.create_table(
        "container",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("receipt", sa.Text(), nullable=True, comment="batch that is in it"),
        sa.Column("tare_number", sa.Text(), nullable=True, comment="weight when empty"),
        sa.Column("tare_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("holds_number", sa.Text(), nullable=True, comment="how much it takes when full"),
        sa.Column("holds_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column("tare_note", sa.Text(), nullable=True, comment="cap or trigger weighed with it"),
        sa.Column("opened_on", sa.Text(), nullable=True, comment="day it was opened"),
        sa.Column(
            "emptied_on", sa.Text(), nullable=True, comment="day it was empty or thrown away"
        ),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_container_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["receipt"],
            ["record.id"],
            name=op.f("fk_container_receipt"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_container_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_container")),
    )
    tables["late_freight"] = op.create_table(
        "late_freight",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("receipt", sa.Text(), nullable=True, comment="of which receipt"),
        sa.Column("billed_on", sa.Text(), nullable=False, comment="day it was billed"),
        sa.Column("price_minor", sa.BigInteger(), nullable=True, comment="amount, minor units"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="who billed it"),
        sa.Column("invoice_number", sa.Text(), nullable=True, comment="their invoice"),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_late_freight_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["receipt"],
            ["record.id"],
            name=op.f("fk_late_freight_receipt"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_late_freight_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_late_freight_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_late_freight")),
    )
    tables["mixed"] = op.create_table(
        "mixed",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("mixed_on", sa.Text(), nullable=False, comment="day of mixing"),
        sa.Column("concentrate_number", sa.Text(), nullable=False, comment="concentrate in it"),
        sa.Column("concentrate_unit", sa.Text(), nullable=False, comment="unit of that"),
        sa.Column("water_number", sa.Text(), nullable=False, comment="water in it"),
        sa.Column("water_unit", sa.Text(), nullable=False, comment="unit of that"),
        sa.Column("receipt", sa.Text(), nullable=True, comment="batch of the concentrate"),
        sa.Column("container", sa.Text(), nullable=True, comment="bottle it is in"),
        sa.ForeignKeyConstraint(
            ["container"],
            ["record.id"],
            name=op.f("fk_mixed_container"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_mixed_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["receipt"],
            ["record.id"],
            name=op.f("fk_mixed_receipt"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_mixed_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_mixed")),
    )
    tables["movement"] = op.create_table(
        "movement",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("source", sa.Text(), nullable=True, comment="record that caused it"),
        sa.Column(
            "flow", sa.Text(), nullable=False, comment="where it counts in the stock identity"
        ),
        sa.Column("moved_on", sa.Text(), nullable=False, comment="day it happened"),
        sa.Column(
            "quantity", sa.Text(), nullable=False, comment="adds to the flow, in the stock unit"
        ),
        sa.Column(
            "cost_minor", sa.BigInteger(), nullable=False, comment="adds to the flow, minor units"
        ),
        sa.Column(
            "price_difference_minor",
            sa.BigInteger(),
            nullable=False,
            comment="adds to the price difference, minor units",
        ),
        sa.Column(
            "on_hand", sa.Text(), nullable=False, comment="on hand afterwards, in the stock unit"
        ),
        sa.Column("value_minor", sa.BigInteger(), nullable=False, comment="its value, minor units"),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_movement_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_movement_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["source"],
            ["record.id"],
            name=op.f("fk_movement_source"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_movement")),
    )
    tables["ordered"] = op.create_table(
        "ordered",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="for which vehicle"),
        sa.Column("what", sa.Text(), nullable=False, comment="part or sublet"),
        sa.Column("quantity_number", sa.Text(), nullable=True, comment="how many"),
        sa.Column("quantity_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "quoted_minor",
            sa.BigInteger(),
            nullable=True,
            comment="quoted for the whole of it, minor units",
        ),
        sa.Column("quoted_on", sa.Text(), nullable=True, comment="day of the quote"),
        sa.Column("ordered_on", sa.Text(), nullable=True, comment="day it was ordered or left"),
        sa.Column("promised_on", sa.Text(), nullable=True, comment="day it was promised for"),
        sa.Column("received_on", sa.Text(), nullable=True, comment="day it came or was back"),
        sa.Column("returned_on", sa.Text(), nullable=True, comment="day it was sent back unused"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="from whom"),
        sa.Column("origin", sa.Text(), nullable=True, comment="origin of the part"),
        sa.Column("candidate", sa.Text(), nullable=True, comment="candidate work"),
        sa.Column(
            "window_surface_low_number",
            sa.Text(),
            nullable=True,
            comment="lowest surface temperature",
        ),
        sa.Column("window_surface_low_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "window_surface_high_number",
            sa.Text(),
            nullable=True,
            comment="highest surface temperature",
        ),
        sa.Column("window_surface_high_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "window_surface_number",
            sa.Text(),
            nullable=True,
            comment="surface temperature that was read",
        ),
        sa.Column("window_surface_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.Column(
            "window_dry_for_number", sa.Text(), nullable=True, comment="how long it stays dry"
        ),
        sa.Column("window_dry_for_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.ForeignKeyConstraint(
            ["candidate"],
            ["record.id"],
            name=op.f("fk_ordered_candidate"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_ordered_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_ordered_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_ordered_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_ordered")),
    )
    tables["owner_invoice"] = op.create_table(
        "owner_invoice",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("issued_on", sa.Text(), nullable=False, comment="day it was issued"),
        sa.Column(
            "total_minor", sa.BigInteger(), nullable=True, comment="sum of its lines, minor units"
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_owner_invoice_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_owner_invoice_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_owner_invoice")),
    )
    tables["receipt"] = op.create_table(
        "receipt",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("received_on", sa.Text(), nullable=False, comment="day of delivery"),
        sa.Column("quantity_number", sa.Text(), nullable=False, comment="how much"),
        sa.Column("quantity_unit", sa.Text(), nullable=False, comment="unit of that"),
        sa.Column(
            "price_minor",
            sa.BigInteger(),
            nullable=True,
            comment="price of the whole delivery, minor units",
        ),
        sa.Column(
            "freight_minor",
            sa.BigInteger(),
            nullable=True,
            comment="freight billed with it, minor units",
        ),
        sa.Column(
            "tax_not_recovered_minor",
            sa.BigInteger(),
            nullable=True,
            comment="tax that does not come back, minor units",
        ),
        sa.Column("batch_number", sa.Text(), nullable=True, comment="as printed on the container"),
        sa.Column("use_by", sa.Text(), nullable=True, comment="last day it is good, closed"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="who supplied"),
        sa.Column("invoice_number", sa.Text(), nullable=True, comment="supplier's invoice"),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_receipt_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_receipt_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_receipt_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_receipt")),
    )
    tables["standard_amount"] = op.create_table(
        "standard_amount",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("operation", sa.Text(), nullable=False, comment="for which operation"),
        sa.Column("quantity_number", sa.Text(), nullable=False, comment="how much"),
        sa.Column("quantity_unit", sa.Text(), nullable=False, comment="unit of that"),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_standard_amount_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_standard_amount_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_standard_amount")),
    )
    tables["stock_reversal"] = op.create_table(
        "stock_reversal",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column(
            "reverses",
            sa.Text(),
            nullable=True,
            comment="what it takes back; a record is reversed once",
        ),
        sa.Column("reversed_on", sa.Text(), nullable=False, comment="day of the reversal"),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_stock_reversal_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_stock_reversal_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["reverses"],
            ["record.id"],
            name=op.f("fk_stock_reversal_reverses"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_stock_reversal")),
        sa.UniqueConstraint("reverses", name=op.f("uq_stock_reversal_reverses")),
    )
    tables["supplier_return"] = op.create_table(
        "supplier_return",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("product", sa.Text(), nullable=True, comment="of which product"),
        sa.Column("receipt", sa.Text(), nullable=True, comment="of which receipt"),
        sa.Column("returned_on", sa.Text(), nullable=False, comment="day it went back"),
        sa.Column("quantity_number", sa.Text(), nullable=False, comment="how much"),
        sa.Column("quantity_unit", sa.Text(), nullable=False, comment="unit of that"),
        sa.Column(
            "credit_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what the supplier credits, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["product"],
            ["record.id"],
            name=op.f("fk_supplier_return_product"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["receipt"],
            ["record.id"],
            name=op.f("fk_supplier_return_receipt"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_supplier_return_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_supplier_return")),
    )
    op.create_index(op.f("ix_approval_by"), "approval", ["by"], unique=False)
    op.create_index(op.f("ix_approval_request"), "approval", ["request"], unique=False)
    op.create_index(op.f("ix_approval_vehicle"), "approval", ["vehicle"], unique=False)
    op.create_index(op.f("ix_change_request_vehicle"), "change_request", ["vehicle"], unique=False)
    op.create_index(op.f("ix_clock_candidate"), "clock", ["candidate"], unique=False)
    op.create_index(op.f("ix_clock_person"), "clock", ["person"], unique=False)
    op.create_index(op.f("ix_clock_rework_of"), "clock", ["rework_of"], unique=False)
    op.create_index(op.f("ix_clock_vehicle"), "clock", ["vehicle"], unique=False)
    op.create_index(op.f("ix_container_product"), "container", ["product"], unique=False)
    op.create_index(op.f("ix_container_receipt"), "container", ["receipt"], unique=False)
    op.create_index(op.f("ix_late_freight_product"), "late_freight", ["product"], unique=False)
    op.create_index(op.f("ix_late_freight_receipt"), "late_freight", ["receipt"], unique=False)
    op.create_index(op.f("ix_late_freight_supplier"), "late_freight", ["supplier"], unique=False)
    op.create_index(op.f("ix_mixed_container"), "mixed", ["container"], unique=False)
    op.create_index(op.f("ix_mixed_product"), "mixed", ["product"], unique=False)
    op.create_index(op.f("ix_mixed_receipt"), "mixed", ["receipt"], unique=False)
    op.create_index(op.f("ix_movement_product"), "movement", ["product"], unique=False)
    op.create_index(op.f("ix_movement_source"), "movement", ["source"], unique=False)
    op.create_index(op.f("ix_ordered_candidate"), "ordered", ["candidate"], unique=False)
    op.create_index(op.f("ix_ordered_supplier"), "ordered", ["supplier"], unique=False)
    op.create_index(op.f("ix_ordered_vehicle"), "ordered", ["vehicle"], unique=False)
    op.create_index(op.f("ix_owner_invoice_vehicle"), "owner_invoice", ["vehicle"], unique=False)
    op.create_index(op.f("ix_receipt_product"), "receipt", ["product"], unique=False)
    op.create_index(op.f("ix_receipt_supplier"), "receipt", ["supplier"], unique=False)
    op.create_index(
        op.f("ix_standard_amount_product"), "standard_amount", ["product"], unique=False
    )
    op.create_index(op.f("ix_stock_reversal_product"), "stock_reversal", ["product"], unique=False)
    op.create_index(
        op.f("ix_supplier_return_product"), "supplier_return", ["product"], unique=False
    )
    op.create_index(
        op.f("ix_supplier_return_receipt"), "supplier_return", ["receipt"], unique=False
    )
    dialect = op.get_bind().dialect.name
    for name in sorted(tables):
        for guard in posted_guards(dialect, tables[name]):
            for statement in guard.statements:
                op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
