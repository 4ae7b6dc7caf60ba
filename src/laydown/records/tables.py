"""Every table: one for each noun, the journal, and the list of kept files."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, Index, MetaData, Table

from laydown.records.columns import TEXT, Moment, columns_of, reference_to
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.people import Account
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _table(name: str, noun: type[Any], **foreign: str) -> Table:
    """The table of a noun; ``revision`` is the journal's number of the last change to a row."""
    revision = Column("revision", BigInteger, nullable=False)
    return Table(name, metadata, *columns_of(noun, foreign=foreign), revision)


# Parents before children: rows are written in this order and taken away in the opposite one.
TABLES: Mapping[type[Any], Table] = MappingProxyType(
    {
        Studio: _table("studio", Studio),
        Account: _table("accounts", Account),
        Supplier: _table("suppliers", Supplier),
        Medium: _table("media", Medium, supplier_id="suppliers"),
        Lot: _table("lots", Lot, medium_id="media"),
        Roll: _table("rolls", Roll, lot_id="lots"),
        Certificate: _table("certificates", Certificate, medium_id="media"),
        Printer: _table("printers", Printer),
        PrinterEvent: _table("printer_events", PrinterEvent, printer_id="printers"),
        Trial: _table("trials", Trial),
        Brief: _table("briefs", Brief, trial_id="trials"),
        BriefChange: _table("brief_changes", BriefChange, trial_id="trials"),
        Candidate: _table(
            "candidates",
            Candidate,
            trial_id="trials",
            medium_id="media",
            lot_id="lots",
            roll_id="rolls",
            printer_id="printers",
            twin_id="candidates",
        ),
        Plan: _table("plans", Plan, trial_id="trials"),
        TestForm: _table("test_forms", TestForm, trial_id="trials"),
        BenchRun: _table(
            "bench_runs",
            BenchRun,
            trial_id="trials",
            candidate_id="candidates",
            printer_id="printers",
            roll_id="rolls",
        ),
        Sheet: _table(
            "sheets",
            Sheet,
            trial_id="trials",
            candidate_id="candidates",
            run_id="bench_runs",
            roll_id="rolls",
        ),
        SheetEvent: _table("sheet_events", SheetEvent, trial_id="trials", sheet_id="sheets"),
        Reading: _table("readings", Reading, trial_id="trials", sheet_id="sheets"),
        GlossReading: _table("gloss_readings", GlossReading, trial_id="trials", sheet_id="sheets"),
        RollUse: _table("roll_uses", RollUse, roll_id="rolls", trial_id="trials"),
        Note: _table("notes", Note, trial_id="trials"),
        Attachment: _table("attachments", Attachment, trial_id="trials"),
        Retrace: _table("retraces", Retrace, trial_id="trials", sheet_id="sheets"),
    }
)
NOUNS: Mapping[str, type[Any]] = MappingProxyType({noun.__name__: noun for noun in TABLES})

Index("ix_notes_about", TABLES[Note].c.about)
Index("ix_attachments_about", TABLES[Attachment].c.about)
Index("ix_sheet_events_at", TABLES[SheetEvent].c.at)
Index("uq_briefs_one", TABLES[Brief].c.trial_id, unique=True)
Index("uq_plans_one", TABLES[Plan].c.trial_id, unique=True)

# Append-only: triggers refuse to change or delete a row (see the migrations). ``digest`` chains each entry
# to the one before it.
journal = Table(
    "journal",
    metadata,
    Column("seq", BigInteger, primary_key=True, autoincrement=False),
    Column("id", TEXT, nullable=False),
    Column("at", Moment, nullable=False),
    Column("who", TEXT, nullable=False),
    Column("action", TEXT, nullable=False),
    Column("words", TEXT, nullable=False),
    Column("trial_id", TEXT, index=True),
    Column("undoes", TEXT, index=True),
    Column("final", Boolean, nullable=False),
    Column("changes", TEXT, nullable=False),
    Column("digest", TEXT, nullable=False),
    Index("uq_journal_id", "id", unique=True),
)
journal_subjects = Table(
    "journal_subjects",
    metadata,
    Column("seq", BigInteger, reference_to("journal", "seq"), primary_key=True, autoincrement=False),
    Column("record_id", TEXT, primary_key=True),
    Index("ix_journal_subjects_record", "record_id"),
)
kept_files = Table(
    "kept_files",
    metadata,
    Column("sha256", TEXT, primary_key=True),
    Column("size", BigInteger, nullable=False),
    Column("kept_at", Moment, nullable=False),
)
