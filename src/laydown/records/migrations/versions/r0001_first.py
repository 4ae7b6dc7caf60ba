"""Everything there is at the first release: nouns, journal, kept files, accounts."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Spelled out, not imported: what the program calls a moment tomorrow must not change what is made here.
TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
MOMENT = sa.String(32).with_variant(sa.DateTime(timezone=True), "postgresql")
APPEND_ONLY = ("journal", "journal_subjects")


def upgrade() -> None:
    """Make every table, parents before children, and protect the journal."""
    _make_accounts()
    _make_journal()
    _make_kept_files()
    _make_printers()
    _make_studio()
    _make_suppliers()
    _make_trials()
    _make_attachments()
    _make_brief_changes()
    _make_briefs()
    _make_journal_subjects()
    _make_media()
    _make_notes()
    _make_plans()
    _make_printer_events()
    _make_certificates()
    _make_lots()
    _make_rolls()
    _make_candidates()
    _make_roll_uses()
    _make_bench_runs()
    _make_sheets()
    _make_readings()
    _make_retraces()
    _make_sheet_events()
    _protect_journal()


def _protect_journal() -> None:
    """Nobody, not even this program, changes or deletes what stands in the journal."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION laydown_append_only() RETURNS trigger LANGUAGE plpgsql AS "
            "$$BEGIN RAISE EXCEPTION 'the journal is only ever added to'; END$$"
        )
        for table in APPEND_ONLY:
            op.execute(
                f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION laydown_append_only()"
            )
        return
    for table in APPEND_ONLY:
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'the journal is only ever added to'); END"
            )


def _make_accounts() -> None:
    op.create_table(
        "accounts",
        *_text("id", key=True),
        *_text("name", "role"),
        *_moment("made_at"),
        *_moment("password_changed_at", "closed_at", null=True),
        *_whole("revision"),
    )


def _make_journal() -> None:
    op.create_table(
        "journal",
        *_whole("seq", key=True),
        *_text("id"),
        *_moment("at"),
        *_text("who", "action", "words"),
        *_text("trial_id", "undoes", null=True, index=True),
        *_yes_no("final"),
        *_text("changes", "digest"),
    )
    op.create_index("uq_journal_id", "journal", ["id"], unique=True)


def _make_kept_files() -> None:
    op.create_table(
        "kept_files",
        *_text("sha256", key=True),
        *_whole("size"),
        *_moment("kept_at"),
    )


def _make_printers() -> None:
    op.create_table(
        "printers",
        *_text("id", key=True),
        *_text("name", "serial", "ink_set", "black_inks", "firmware"),
        *_number("widest_mm", null=True),
        *_json("head_gaps"),
        *_yes_no("has_cutter", null=True),
        *_number("side_margin_mm", "lead_mm", "tail_mm", null=True),
        *_text("words"),
        *_whole("revision"),
    )


def _make_studio() -> None:
    op.create_table(
        "studio",
        *_text("id", key=True),
        *_text("name", "place", "time_zone", "units", "paper"),
        *_number("cure_hours", "dry_hours"),
        *_text("watched_folder"),
        *_text("watched_trial_id", null=True),
        *_whole("revision"),
    )


def _make_suppliers() -> None:
    op.create_table(
        "suppliers",
        *_text("id", key=True),
        *_text("name", "contact", "words"),
        *_whole("revision"),
    )


def _make_trials() -> None:
    op.create_table(
        "trials",
        *_text("id", key=True),
        *_text("name", "question", "client"),
        *_day("begun"),
        *_moment("closed_at", "removed_at", null=True),
        *_text("chart_name", "chart_sha256"),
        *_number("cure_hours", "dry_hours"),
        *_yes_no("invented"),
        *_whole("revision"),
    )


def _make_attachments() -> None:
    op.create_table(
        "attachments",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", null=True, index=True),
        *_text("about", "kind", "name", "media_type"),
        *_whole("size"),
        *_text("sha256"),
        *_moment("at"),
        *_text("by"),
        *_yes_no("private"),
        *_text("words"),
        *_whole("revision"),
    )
    op.create_index("ix_attachments_about", "attachments", ["about"])


def _make_brief_changes() -> None:
    op.create_table(
        "brief_changes",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_moment("at"),
        *_text("by", "field", "part", "before", "after", "before_plain", "after_plain", "why"),
        *_whole("revision"),
    )


def _make_briefs() -> None:
    op.create_table(
        "briefs",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("question"),
        *_json("products"),
        *_text("sizes", "display_light", "viewing_distance", "glazing", "coating", "must_match"),
        *_json("gates", "criteria"),
        *_text("judges", "lights"),
        *_json("differences"),
        *_day("stop_date", null=True),
        *_text("words"),
        *_moment("sealed_at", null=True),
        *_text("sealed_by", "seal"),
        *_whole("revision"),
    )
    op.create_index("uq_briefs_one", "briefs", ["trial_id"], unique=True)


def _make_journal_subjects() -> None:
    op.create_table(
        "journal_subjects",
        *_whole("seq", to="journal.seq", key=True),
        *_text("record_id", key=True),
    )
    op.create_index("ix_journal_subjects_record", "journal_subjects", ["record_id"])


def _make_media() -> None:
    op.create_table(
        "media",
        *_text("id", key=True),
        *_text("name"),
        *_text("supplier_id", to="suppliers.id", null=True, index=True),
        *_text("kind", "surface", "base"),
        *_number("weight_gsm", "caliper_um", null=True),
        *_yes_no("barrier", null=True),
        *_text("black_ink", "brightener_claim", "other_claims", "words"),
        *_whole("revision"),
    )


def _make_notes() -> None:
    op.create_table(
        "notes",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", null=True, index=True),
        *_text("about"),
        *_moment("at"),
        *_text("by", "words"),
        *_whole("revision"),
    )
    op.create_index("ix_notes_about", "notes", ["about"])


def _make_plans() -> None:
    op.create_table(
        "plans",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_whole("sheets_per_candidate"),
        *_text("why", "order"),
        *_whole("days", "seed"),
        *_day("first_day", null=True),
        *_number("sheet_length_mm", "sheet_width_mm", "chart_length_mm", "strip_length_mm", null=True),
        *_number("handling_length_mm", "fading_length_mm", "setting_length_mm", null=True),
        *_whole("spare_sheets"),
        *_moment("drawn_at", null=True),
        *_whole("revision"),
    )
    op.create_index("uq_plans_one", "plans", ["trial_id"], unique=True)


def _make_printer_events() -> None:
    op.create_table(
        "printer_events",
        *_text("id", key=True),
        *_text("printer_id", to="printers.id", index=True),
        *_moment("at"),
        *_text("kind", "words"),
        *_whole("revision"),
    )


def _make_certificates() -> None:
    op.create_table(
        "certificates",
        *_text("id", key=True),
        *_text("title"),
        *_text("medium_id", to="media.id", null=True, index=True),
        *_text("laboratory", "accreditation"),
        *_day("tested", null=True),
        *_text("method", "ink", "medium_as_stated", "coating", "glazing", "light_source"),
        *_text("light_level", "climate", "end_point", "result", "words"),
        *_whole("revision"),
    )


def _make_lots() -> None:
    op.create_table(
        "lots",
        *_text("id", key=True),
        *_text("medium_id", to="media.id", index=True),
        *_text("code"),
        *_day("received", null=True),
        *_text("words"),
        *_whole("revision"),
    )


def _make_rolls() -> None:
    op.create_table(
        "rolls",
        *_text("id", key=True),
        *_text("lot_id", to="lots.id", index=True),
        *_text("form", "code"),
        *_number("width_mm", "length_mm", null=True),
        *_whole("sheets", null=True),
        *_number("core_mm", null=True),
        *_day("received", "opened", null=True),
        *_number("price", null=True),
        *_text("currency", "words"),
        *_whole("revision"),
    )


def _make_candidates() -> None:
    op.create_table(
        "candidates",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("medium_id", to="media.id", index=True),
        *_text("name"),
        *_yes_no("house"),
        *_whole("position"),
        *_text("lot_id", to="lots.id", null=True, index=True),
        *_text("roll_id", to="rolls.id", null=True, index=True),
        *_text("printer_id", to="printers.id", null=True, index=True),
        *_text("finish"),
        *_json("coat", null=True),
        *_text("twin_id", to="candidates.id", null=True, index=True),
        *_json("recipe"),
        *_number("cure_hours", "dry_hours", null=True),
        *_moment("withdrawn_at", null=True),
        *_text("withdrawn_why", "words"),
        *_whole("revision"),
    )


def _make_roll_uses() -> None:
    op.create_table(
        "roll_uses",
        *_text("id", key=True),
        *_text("roll_id", to="rolls.id", index=True),
        *_moment("at"),
        *_number("length_mm", null=True),
        *_whole("sheets", null=True),
        *_text("trial_id", to="trials.id", null=True, index=True),
        *_text("words"),
        *_whole("revision"),
    )


def _make_bench_runs() -> None:
    op.create_table(
        "bench_runs",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("candidate_id", to="candidates.id", index=True),
        *_text("printer_id", to="printers.id", index=True),
        *_text("roll_id", to="rolls.id", null=True, index=True),
        *_moment("begun_at"),
        *_moment("ended_at", null=True),
        *_json("recipe", "ticks"),
        *_number("room_c", "room_rh", null=True),
        *_text("by", "words"),
        *_whole("revision"),
    )


def _make_sheets() -> None:
    op.create_table(
        "sheets",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("candidate_id", to="candidates.id", index=True),
        *_text("code", "use"),
        *_whole("place", "day"),
        *_text("run_id", to="bench_runs.id", null=True, index=True),
        *_text("roll_id", to="rolls.id", null=True, index=True),
        *_text("words"),
        *_whole("revision"),
    )


def _make_readings() -> None:
    op.create_table(
        "readings",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("sheet_id", to="sheets.id", null=True, index=True),
        *_text("source", "file_name", "file_sha256", "mended_sha256"),
        *_moment("received_at"),
        *_moment("measured_at", null=True),
        *_text("instrument"),
        *_json("conditions"),
        *_whole("patches"),
        *_text("by"),
        *_json("doubts"),
        *_moment("set_aside_at", null=True),
        *_text("set_aside_why"),
        *_moment("early_used_at", null=True),
        *_text("early_used_by", "early_used_why", "words"),
        *_whole("revision"),
    )


def _make_retraces() -> None:
    op.create_table(
        "retraces",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", null=True, index=True),
        *_text("sheet_id", to="sheets.id", null=True, index=True),
        *_text("title"),
        *_moment("begun_at"),
        *_text("by"),
        *_json("symptoms", "answers", "tried"),
        *_text("outcome"),
        *_moment("closed_at", null=True),
        *_text("words"),
        *_whole("revision"),
    )


def _make_sheet_events() -> None:
    op.create_table(
        "sheet_events",
        *_text("id", key=True),
        *_text("trial_id", to="trials.id", index=True),
        *_text("sheet_id", to="sheets.id", index=True),
        *_moment("at"),
        *_text("kind", "by"),
        *_number("room_c", "room_rh", null=True),
        *_json("coat", null=True),
        *_text("words"),
        *_whole("revision"),
    )
    op.create_index("ix_sheet_events_at", "sheet_events", ["at"])


Columns = list[sa.Column[Any]]


def _text(*names: str, **more: Any) -> Columns:
    return [_column(name, TEXT, **more) for name in names]


def _whole(*names: str, **more: Any) -> Columns:
    return [_column(name, sa.BigInteger(), **more) for name in names]


def _number(*names: str, **more: Any) -> Columns:
    return [_column(name, sa.Float(53), **more) for name in names]


def _yes_no(*names: str, **more: Any) -> Columns:
    return [_column(name, sa.Boolean(), **more) for name in names]


def _moment(*names: str, **more: Any) -> Columns:
    return [_column(name, MOMENT, **more) for name in names]


def _day(*names: str, **more: Any) -> Columns:
    return [_column(name, sa.Date(), **more) for name in names]


def _json(*names: str, **more: Any) -> Columns:
    return [_column(name, sa.JSON(none_as_null=True), **more) for name in names]


def _column(
    name: str, kind: Any, *, key: bool = False, null: bool = False, to: str = "", index: bool = False
) -> sa.Column[Any]:
    """A column; ``to`` is what it refers to, checked at the end of a transaction where that is asked for."""
    reference = [sa.ForeignKey(to, deferrable=True, initially="IMMEDIATE")] if to else []
    return sa.Column(name, kind, *reference, primary_key=key, autoincrement=False, nullable=null, index=index)
