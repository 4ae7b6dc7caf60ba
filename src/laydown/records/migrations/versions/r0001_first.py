"""Everything there is at the first release: nouns, journal, kept files, accounts."""

from __future__ import annotations

from alembic import op

from laydown.records.migrations.append_only import protect
from laydown.records.migrations.column_kinds import counted, day, json, moment, number, text, whole, yes_no

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, parents before children, and protect the journal."""
    _make_accounts()
    _make_failed_attempts()
    _make_journal()
    _make_kept_files()
    _make_pairings()
    _make_passwords()
    _make_printers()
    _make_sittings()
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
    _make_test_forms()
    _make_certificates()
    _make_lots()
    _make_rolls()
    _make_candidates()
    _make_roll_uses()
    _make_bench_runs()
    _make_sheets()
    _make_gloss_readings()
    _make_readings()
    _make_retraces()
    _make_sheet_events()
    protect("journal", "journal_subjects")


def _make_accounts() -> None:
    op.create_table(
        "accounts",
        *text("id", key=True),
        *text("name", "role"),
        *moment("made_at"),
        *moment("password_changed_at", "closed_at", null=True),
        *whole("revision"),
    )


def _make_failed_attempts() -> None:
    op.create_table(
        "failed_attempts",
        *counted("number"),
        *text("key", index=True),
        *moment("at"),
    )


def _make_journal() -> None:
    op.create_table(
        "journal",
        *whole("seq", key=True),
        *text("id"),
        *moment("at"),
        *text("who", "action", "words"),
        *text("trial_id", "undoes", null=True, index=True),
        *yes_no("final"),
        *text("changes", "digest"),
    )
    op.create_index("uq_journal_id", "journal", ["id"], unique=True)


def _make_kept_files() -> None:
    op.create_table(
        "kept_files",
        *text("sha256", key=True),
        *whole("size"),
        *moment("kept_at"),
    )


def _make_pairings() -> None:
    op.create_table(
        "pairings",
        *text("token", key=True),
        *text("name", "role", "offered_by"),
        *moment("ends_at"),
        *moment("taken_at", null=True),
    )


def _make_passwords() -> None:
    op.create_table(
        "passwords",
        *text("account_id", key=True),
        *text("hash"),
        *moment("changed_at"),
    )


def _make_printers() -> None:
    op.create_table(
        "printers",
        *text("id", key=True),
        *text("name", "serial", "ink_set", "black_inks", "firmware"),
        *number("widest_mm", null=True),
        *json("head_gaps"),
        *yes_no("has_cutter", null=True),
        *number("side_margin_mm", "lead_mm", "tail_mm", null=True),
        *text("words"),
        *whole("revision"),
    )


def _make_sittings() -> None:
    op.create_table(
        "sittings",
        *text("token", key=True),
        *text("id", unique=True),
        *text("account_id", null=True, index=True),
        *text("name", "role"),
        *moment("begun_at", "seen_at", "idle_ends_at", "ends_at"),
    )


def _make_studio() -> None:
    op.create_table(
        "studio",
        *text("id", key=True),
        *text("name", "place", "time_zone", "units", "paper"),
        *number("cure_hours", "dry_hours"),
        *text("watched_folder"),
        *text("watched_trial_id", null=True),
        *whole("revision"),
    )


def _make_suppliers() -> None:
    op.create_table(
        "suppliers",
        *text("id", key=True),
        *text("name", "contact", "words"),
        *whole("revision"),
    )


def _make_trials() -> None:
    op.create_table(
        "trials",
        *text("id", key=True),
        *text("name", "question", "client"),
        *day("begun"),
        *moment("closed_at", "removed_at", null=True),
        *text("chart_name", "chart_sha256"),
        *number("cure_hours", "dry_hours"),
        *yes_no("invented"),
        *whole("revision"),
    )


def _make_attachments() -> None:
    op.create_table(
        "attachments",
        *text("id", key=True),
        *text("trial_id", to="trials.id", null=True, index=True),
        *text("about", "kind", "name", "media_type"),
        *whole("size"),
        *text("sha256"),
        *moment("at"),
        *text("by"),
        *yes_no("private"),
        *text("words"),
        *whole("revision"),
    )
    op.create_index("ix_attachments_about", "attachments", ["about"])


def _make_brief_changes() -> None:
    op.create_table(
        "brief_changes",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *moment("at"),
        *text("by", "field", "part", "before", "after", "before_plain", "after_plain", "why"),
        *whole("revision"),
    )


def _make_briefs() -> None:
    op.create_table(
        "briefs",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("question"),
        *json("products"),
        *text("sizes", "display_light", "viewing_distance", "glazing", "coating", "must_match"),
        *json("gates", "criteria"),
        *text("judges", "lights"),
        *json("differences"),
        *day("stop_date", null=True),
        *text("words"),
        *moment("sealed_at", null=True),
        *text("sealed_by", "seal"),
        *whole("revision"),
    )
    op.create_index("uq_briefs_one", "briefs", ["trial_id"], unique=True)


def _make_journal_subjects() -> None:
    op.create_table(
        "journal_subjects",
        *whole("seq", to="journal.seq", key=True),
        *text("record_id", key=True),
    )
    op.create_index("ix_journal_subjects_record", "journal_subjects", ["record_id"])


def _make_media() -> None:
    op.create_table(
        "media",
        *text("id", key=True),
        *text("name"),
        *text("supplier_id", to="suppliers.id", null=True, index=True),
        *text("kind", "surface", "base"),
        *number("weight_gsm", "caliper_um", null=True),
        *yes_no("barrier", null=True),
        *text("black_ink", "brightener_claim", "other_claims", "words"),
        *whole("revision"),
    )


def _make_notes() -> None:
    op.create_table(
        "notes",
        *text("id", key=True),
        *text("trial_id", to="trials.id", null=True, index=True),
        *text("about"),
        *moment("at"),
        *text("by", "words"),
        *whole("revision"),
    )
    op.create_index("ix_notes_about", "notes", ["about"])


def _make_plans() -> None:
    op.create_table(
        "plans",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *whole("sheets_per_candidate"),
        *text("why", "order"),
        *whole("days", "seed"),
        *day("first_day", null=True),
        *number("sheet_length_mm", "sheet_width_mm", "chart_length_mm", "strip_length_mm", null=True),
        *number("handling_length_mm", "fading_length_mm", "setting_length_mm", null=True),
        *whole("spare_sheets"),
        *moment("drawn_at", null=True),
        *whole("revision"),
    )
    op.create_index("uq_plans_one", "plans", ["trial_id"], unique=True)


def _make_printer_events() -> None:
    op.create_table(
        "printer_events",
        *text("id", key=True),
        *text("printer_id", to="printers.id", index=True),
        *moment("at"),
        *text("kind", "words"),
        *whole("revision"),
    )


def _make_test_forms() -> None:
    op.create_table(
        "test_forms",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("code"),
        *json("wish", "pages"),
        *text("reference_sha256"),
        *json("left_out"),
        *moment("made_at"),
        *text("made_with", "by", "words"),
        *moment("set_aside_at", null=True),
        *text("set_aside_why"),
        *whole("revision"),
    )


def _make_certificates() -> None:
    op.create_table(
        "certificates",
        *text("id", key=True),
        *text("title"),
        *text("medium_id", to="media.id", null=True, index=True),
        *text("laboratory", "accreditation"),
        *day("tested", null=True),
        *text("method", "ink", "medium_as_stated", "coating", "glazing", "light_source"),
        *text("light_level", "climate", "end_point", "result", "words"),
        *whole("revision"),
    )


def _make_lots() -> None:
    op.create_table(
        "lots",
        *text("id", key=True),
        *text("medium_id", to="media.id", index=True),
        *text("code"),
        *day("received", null=True),
        *text("words"),
        *whole("revision"),
    )


def _make_rolls() -> None:
    op.create_table(
        "rolls",
        *text("id", key=True),
        *text("lot_id", to="lots.id", index=True),
        *text("form", "code"),
        *number("width_mm", "length_mm", null=True),
        *whole("sheets", null=True),
        *number("core_mm", null=True),
        *day("received", "opened", null=True),
        *number("price", null=True),
        *text("currency", "words"),
        *whole("revision"),
    )


def _make_candidates() -> None:
    op.create_table(
        "candidates",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("medium_id", to="media.id", index=True),
        *text("name"),
        *yes_no("house"),
        *whole("position"),
        *text("lot_id", to="lots.id", null=True, index=True),
        *text("roll_id", to="rolls.id", null=True, index=True),
        *text("printer_id", to="printers.id", null=True, index=True),
        *text("finish"),
        *json("coat", null=True),
        *text("twin_id", to="candidates.id", null=True, index=True),
        *json("recipe"),
        *number("cure_hours", "dry_hours", null=True),
        *moment("withdrawn_at", null=True),
        *text("withdrawn_why", "words"),
        *whole("revision"),
    )


def _make_roll_uses() -> None:
    op.create_table(
        "roll_uses",
        *text("id", key=True),
        *text("roll_id", to="rolls.id", index=True),
        *moment("at"),
        *number("length_mm", null=True),
        *whole("sheets", null=True),
        *text("trial_id", to="trials.id", null=True, index=True),
        *text("words"),
        *whole("revision"),
    )


def _make_bench_runs() -> None:
    op.create_table(
        "bench_runs",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("candidate_id", to="candidates.id", index=True),
        *text("printer_id", to="printers.id", index=True),
        *text("roll_id", to="rolls.id", null=True, index=True),
        *moment("begun_at"),
        *moment("ended_at", null=True),
        *json("recipe", "ticks"),
        *number("room_c", "room_rh", null=True),
        *text("by", "words"),
        *whole("revision"),
    )


def _make_sheets() -> None:
    op.create_table(
        "sheets",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("candidate_id", to="candidates.id", index=True),
        *text("code", "use"),
        *whole("place", "day"),
        *text("run_id", to="bench_runs.id", null=True, index=True),
        *text("roll_id", to="rolls.id", null=True, index=True),
        *text("words"),
        *whole("revision"),
    )


def _make_gloss_readings() -> None:
    op.create_table(
        "gloss_readings",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("sheet_id", to="sheets.id", index=True),
        *text("place"),
        *whole("angle"),
        *json("values"),
        *text("direction", "instrument"),
        *moment("received_at"),
        *moment("measured_at", null=True),
        *text("by"),
        *moment("set_aside_at", null=True),
        *text("set_aside_why"),
        *moment("early_used_at", null=True),
        *text("early_used_by", "early_used_why"),
        *whole("revision"),
    )


def _make_readings() -> None:
    op.create_table(
        "readings",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("sheet_id", to="sheets.id", null=True, index=True),
        *text("source", "file_name", "file_sha256", "mended_sha256"),
        *moment("received_at"),
        *moment("measured_at", null=True),
        *text("instrument"),
        *json("conditions"),
        *whole("patches"),
        *text("by"),
        *json("doubts"),
        *moment("set_aside_at", null=True),
        *text("set_aside_why"),
        *moment("early_used_at", null=True),
        *text("early_used_by", "early_used_why", "words"),
        *whole("revision"),
    )


def _make_retraces() -> None:
    op.create_table(
        "retraces",
        *text("id", key=True),
        *text("trial_id", to="trials.id", null=True, index=True),
        *text("sheet_id", to="sheets.id", null=True, index=True),
        *text("title"),
        *moment("begun_at"),
        *text("by"),
        *json("symptoms", "answers", "tried"),
        *text("outcome"),
        *moment("closed_at", null=True),
        *text("words"),
        *whole("revision"),
    )


def _make_sheet_events() -> None:
    op.create_table(
        "sheet_events",
        *text("id", key=True),
        *text("trial_id", to="trials.id", index=True),
        *text("sheet_id", to="sheets.id", index=True),
        *moment("at"),
        *text("kind", "by"),
        *number("room_c", "room_rh", null=True),
        *json("coat", null=True),
        *text("words"),
        *whole("revision"),
    )
    op.create_index("ix_sheet_events_at", "sheet_events", ["at"])
