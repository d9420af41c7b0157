"""The books: tax codes, account map, supplier invoices, payments, periods, exports.

Posted tables get new columns and stay what they are: none is rebuilt. New tables get their
guards here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from recondition.book.triggers import posted_guards

revision = "0006"
down_revision = "0005"
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
    _add("late_freight", "period", "TEXT", "posting period YYYY-MM")
    _add("line", "tax_code", "TEXT", "tax code")
    _add("line", "tax_minor", "BIGINT", "tax on its document, minor units")
    _add("line", "tax_recovered_minor", "BIGINT", "tax that comes back, minor units")
    _add("line", "foreign_amount_minor", "BIGINT", "minor units of its own currency")
    _add("line", "foreign_amount_currency", "TEXT", "that currency")
    _add("line", "foreign_rate", "TEXT", "home currency for one of it")
    _add("line", "foreign_source", "TEXT", "whose rate")
    _add("line", "settled", "TEXT", "on account, bank or opening")
    _add("line", "item", "TEXT", "what a charge was paid for")
    _add("owner_invoice", "period", "TEXT", "posting period YYYY-MM")
    _add("owner_invoice", "tax_minor", "BIGINT", "tax, worked out, minor units")
    _add("receipt", "tax_recovered_minor", "BIGINT", "tax that comes back, minor units")
    _add("receipt", "foreign_amount_minor", "BIGINT", "minor units of its own currency")
    _add("receipt", "foreign_amount_currency", "TEXT", "that currency")
    _add("receipt", "foreign_rate", "TEXT", "home currency for one of it")
    _add("receipt", "foreign_source", "TEXT", "whose rate")
    _add("receipt", "settled", "TEXT", "on account, bank or opening")
    _add("receipt", "period", "TEXT", "posting period YYYY-MM")
    _add("sale", "result", "TEXT", "sold, unsold or withdrawn")
    _add("sale", "commission", "TEXT", "seller's commission by slices, canonical list")
    _add("sale", "premium", "TEXT", "buyer's premium by slices, canonical list")
    _add("sale", "shop_commission", "TEXT", "what an owner pays the shop, canonical list")
    _add("sale", "tax", "TEXT", "how it is taxed")
    _add("sale", "tax_code", "TEXT", "tax code")
    _add("sale", "invoice_number", "TEXT", "number of the sales invoice")
    _add("sale", "period", "TEXT", "posting period YYYY-MM")
    _add("sale", "hammer_minor", "BIGINT", "hammer, worked out, minor units")
    _add("sale", "commission_minor", "BIGINT", "commission, worked out, minor units")
    _add("sale", "fees_minor", "BIGINT", "fees, worked out, minor units")
    _add("sale", "shop_commission_minor", "BIGINT", "shop commission, worked out, minor units")
    _add("sale", "premium_minor", "BIGINT", "premium, worked out, minor units")
    _add("sale", "tax_minor", "BIGINT", "tax, worked out, minor units")
    _add("sale", "scheme_price_minor", "BIGINT", "scheme price, worked out, minor units")
    _add("sale", "margin_minor", "BIGINT", "margin, worked out, minor units")
    _add("stock_reversal", "period", "TEXT", "posting period YYYY-MM")
    _add("supplier_return", "period", "TEXT", "posting period YYYY-MM")
    tables: dict[str, sa.Table] = {}

    tables["account"] = op.create_table(
        "account",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("role", sa.Text(), nullable=False, comment="what goes to it"),
        sa.Column("from_date", sa.Text(), nullable=False, comment="first day it holds"),
        sa.Column("code", sa.Text(), nullable=False, comment="account code"),
        sa.Column("name", sa.Text(), nullable=False, comment="account name"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_account_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_account")),
    )
    tables["entry_reversal"] = op.create_table(
        "entry_reversal",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column(
            "reverses",
            sa.Text(),
            nullable=True,
            comment="what it takes back; a record is taken back once",
        ),
        sa.Column("reversed_on", sa.Text(), nullable=False, comment="day"),
        sa.Column("period", sa.Text(), nullable=True, comment="posting period YYYY-MM"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_entry_reversal_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["reverses"],
            ["record.id"],
            name=op.f("fk_entry_reversal_reverses"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_entry_reversal_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_entry_reversal")),
        sa.UniqueConstraint("reverses", name=op.f("uq_entry_reversal_reverses")),
    )
    tables["export_batch"] = op.create_table(
        "export_batch",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("what", sa.Text(), nullable=False, comment="workbook, journal or lines"),
        sa.Column("exported_on", sa.Text(), nullable=False, comment="day"),
        sa.Column("period", sa.Text(), nullable=True, comment="narrowed to this period"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="narrowed to this stock number"),
        sa.Column("sha256", sa.Text(), nullable=False, comment="hash of the data"),
        sa.Column("lines", sa.Text(), nullable=False, comment="how many lines"),
        sa.Column("upto", sa.Text(), nullable=False, comment="records of each chain, canonical"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_export_batch_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_export_batch")),
    )
    tables["paid_hours"] = op.create_table(
        "paid_hours",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("person", sa.Text(), nullable=True, comment="who was paid"),
        sa.Column("week", sa.Text(), nullable=False, comment="its Monday"),
        sa.Column("hours_number", sa.Text(), nullable=True, comment="hours paid"),
        sa.Column("hours_unit", sa.Text(), nullable=True, comment="unit of that"),
        sa.ForeignKeyConstraint(
            ["person"],
            ["record.id"],
            name=op.f("fk_paid_hours_person"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_paid_hours_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_paid_hours")),
    )
    tables["payment"] = op.create_table(
        "payment",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("paid_on", sa.Text(), nullable=False, comment="day the money moved"),
        sa.Column("way", sa.Text(), nullable=False, comment="paid, received or set off"),
        sa.Column(
            "amount_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what moved on the bank, minor units",
        ),
        sa.Column(
            "foreign_amount_minor",
            sa.BigInteger(),
            nullable=True,
            comment="minor units of its own currency",
        ),
        sa.Column("foreign_amount_currency", sa.Text(), nullable=True, comment="that currency"),
        sa.Column("foreign_rate", sa.Text(), nullable=True, comment="home currency for one of it"),
        sa.Column("foreign_source", sa.Text(), nullable=True, comment="whose rate"),
        sa.Column("invoice", sa.Text(), nullable=True, comment="supplier invoice that it settles"),
        sa.Column(
            "owner_invoice", sa.Text(), nullable=True, comment="owner invoice that it settles"
        ),
        sa.Column("sale", sa.Text(), nullable=True, comment="sale that it settles"),
        sa.Column("period", sa.Text(), nullable=True, comment="posting period YYYY-MM"),
        sa.Column(
            "settled_minor",
            sa.BigInteger(),
            nullable=True,
            comment="settled, worked out, minor units",
        ),
        sa.Column(
            "exchange_minor",
            sa.BigInteger(),
            nullable=True,
            comment="exchange, worked out, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["invoice"],
            ["record.id"],
            name=op.f("fk_payment_invoice"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["owner_invoice"],
            ["record.id"],
            name=op.f("fk_payment_owner_invoice"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_payment_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["sale"],
            ["record.id"],
            name=op.f("fk_payment_sale"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_payment")),
    )
    tables["period_event"] = op.create_table(
        "period_event",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("period", sa.Text(), nullable=False, comment="YYYY-MM"),
        sa.Column("step", sa.Text(), nullable=False, comment="closed or reopened"),
        sa.Column("map_version", sa.Text(), nullable=True, comment="hash of the account map"),
        sa.Column("journal", sa.Text(), nullable=True, comment="the period's journal, canonical"),
        sa.Column(
            "debits_minor",
            sa.BigInteger(),
            nullable=True,
            comment="sum of debits, and of credits, minor units",
        ),
        sa.Column("heads", sa.Text(), nullable=True, comment="hash over all chain heads"),
        sa.Column(
            "accruals",
            sa.Text(),
            nullable=True,
            comment="sublet work not yet invoiced, canonical list",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_period_event_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_period_event")),
    )
    tables["shared_charge"] = op.create_table(
        "shared_charge",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("work_date", sa.Text(), nullable=False, comment="when it happened"),
        sa.Column(
            "price_minor",
            sa.BigInteger(),
            nullable=True,
            comment="amount for all of them, minor units",
        ),
        sa.Column("by", sa.Text(), nullable=False, comment="rule it is shared by"),
        sa.Column(
            "weights", sa.Text(), nullable=True, comment="one for each vehicle, canonical list"
        ),
        sa.Column("item", sa.Text(), nullable=False, comment="what it was paid for"),
        sa.Column("unlinked", sa.Text(), nullable=True, comment="why it links to no finding"),
        sa.Column(
            "tax_point", sa.Text(), nullable=True, comment="date that decides the tax period"
        ),
        sa.Column("period", sa.Text(), nullable=True, comment="posting period YYYY-MM"),
        sa.Column("tax_code", sa.Text(), nullable=True, comment="tax code"),
        sa.Column(
            "tax_minor", sa.BigInteger(), nullable=True, comment="tax on all of it, minor units"
        ),
        sa.Column(
            "foreign_amount_minor",
            sa.BigInteger(),
            nullable=True,
            comment="minor units of its own currency",
        ),
        sa.Column("foreign_amount_currency", sa.Text(), nullable=True, comment="that currency"),
        sa.Column("foreign_rate", sa.Text(), nullable=True, comment="home currency for one of it"),
        sa.Column("foreign_source", sa.Text(), nullable=True, comment="whose rate"),
        sa.Column("settled", sa.Text(), nullable=True, comment="on account, bank or opening"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="who supplied"),
        sa.Column("invoice_number", sa.Text(), nullable=True, comment="supplier's invoice"),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_shared_charge_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_shared_charge_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_shared_charge")),
    )
    tables["supplier_invoice"] = op.create_table(
        "supplier_invoice",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("supplier", sa.Text(), nullable=True, comment="who sent it"),
        sa.Column("number", sa.Text(), nullable=False, comment="as on the invoice"),
        sa.Column("invoice_on", sa.Text(), nullable=False, comment="its day"),
        sa.Column(
            "total_minor", sa.BigInteger(), nullable=True, comment="total with tax, minor units"
        ),
        sa.Column("tax_minor", sa.BigInteger(), nullable=True, comment="tax in it, minor units"),
        sa.Column(
            "foreign_amount_minor",
            sa.BigInteger(),
            nullable=True,
            comment="minor units of its own currency",
        ),
        sa.Column("foreign_amount_currency", sa.Text(), nullable=True, comment="that currency"),
        sa.Column("foreign_rate", sa.Text(), nullable=True, comment="home currency for one of it"),
        sa.Column("foreign_source", sa.Text(), nullable=True, comment="whose rate"),
        sa.Column("owed", sa.Text(), nullable=False, comment="supplier or seller of a vehicle"),
        sa.Column("received_on", sa.Text(), nullable=True, comment="day it came"),
        sa.Column("due_on", sa.Text(), nullable=True, comment="day it is due"),
        sa.Column("opening", sa.Boolean(), nullable=True, comment="owed before the book began"),
        sa.Column("period", sa.Text(), nullable=True, comment="posting period YYYY-MM"),
        sa.Column(
            "home_minor", sa.BigInteger(), nullable=True, comment="home, worked out, minor units"
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_supplier_invoice_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["supplier"],
            ["record.id"],
            name=op.f("fk_supplier_invoice_supplier"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_supplier_invoice")),
    )
    tables["tax_code"] = op.create_table(
        "tax_code",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("code", sa.Text(), nullable=False, comment="code as on the lines"),
        sa.Column("from_date", sa.Text(), nullable=False, comment="first day it holds"),
        sa.Column("rate", sa.Text(), nullable=False, comment="fraction of the amount without tax"),
        sa.Column(
            "recoverable", sa.Text(), nullable=False, comment="share of tax paid that comes back"
        ),
        sa.Column("last_day", sa.Text(), nullable=True, comment="last day it holds"),
        sa.Column(
            "charged_on",
            sa.Text(),
            nullable=True,
            comment="kinds of billed line it is charged on, canonical list",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_tax_code_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_tax_code")),
    )
    tables["value_test"] = op.create_table(
        "value_test",
        sa.Column("record_id", sa.Text(), nullable=False, comment="the chained record"),
        sa.Column("vehicle", sa.Text(), nullable=True, comment="of which vehicle"),
        sa.Column("tested_on", sa.Text(), nullable=False, comment="day"),
        sa.Column(
            "expected_price_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what it may fetch, minor units",
        ),
        sa.Column(
            "to_complete_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what it takes to finish, minor units",
        ),
        sa.Column(
            "to_sell_minor",
            sa.BigInteger(),
            nullable=True,
            comment="what it takes to sell, minor units",
        ),
        sa.Column("period", sa.Text(), nullable=True, comment="posting period YYYY-MM"),
        sa.Column(
            "carrying_minor",
            sa.BigInteger(),
            nullable=True,
            comment="carrying, worked out, minor units",
        ),
        sa.Column(
            "change_minor",
            sa.BigInteger(),
            nullable=True,
            comment="change, worked out, minor units",
        ),
        sa.ForeignKeyConstraint(
            ["record_id"],
            ["record.id"],
            name=op.f("fk_value_test_record_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["vehicle"],
            ["record.id"],
            name=op.f("fk_value_test_vehicle"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("record_id", name=op.f("pk_value_test")),
    )
    op.create_index(op.f("ix_entry_reversal_vehicle"), "entry_reversal", ["vehicle"], unique=False)
    op.create_index(op.f("ix_paid_hours_person"), "paid_hours", ["person"], unique=False)
    op.create_index(op.f("ix_payment_invoice"), "payment", ["invoice"], unique=False)
    op.create_index(op.f("ix_payment_owner_invoice"), "payment", ["owner_invoice"], unique=False)
    op.create_index(op.f("ix_payment_sale"), "payment", ["sale"], unique=False)
    op.create_index(op.f("ix_shared_charge_supplier"), "shared_charge", ["supplier"], unique=False)
    op.create_index(
        op.f("ix_supplier_invoice_supplier"), "supplier_invoice", ["supplier"], unique=False
    )
    op.create_index(op.f("ix_value_test_vehicle"), "value_test", ["vehicle"], unique=False)
    dialect = op.get_bind().dialect.name
    for name in sorted(tables):
        for guard in posted_guards(dialect, tables[name]):
            for statement in guard.statements:
                op.execute(sa.DDL(statement.replace("%", "%%")))


def downgrade() -> None:
    """Refuse: going back would drop posted records."""
    message = "a book is not taken back to an older schema: that would drop posted records"
    raise NotImplementedError(message)
