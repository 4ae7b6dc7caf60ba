"""The trade's list of symptoms, row by row: common practice, no source, unless the data say otherwise.

Each row: the symptom, the causes the list names, and the checks that tell them apart with the cause a yes
speaks for.
"""

from __future__ import annotations

import pytest

from laydown.science.faults import rank

ROWS = [
    ("dark-dull-cast", "colour-managed-twice", "ramp-both-ways: colour-managed-twice"),
    ("colours-far-off", "colour-not-managed", "settings-show-no-profile: colour-not-managed"),
    (
        "slightly-off-everywhere",
        "wrong-profile lot-changed",
        "control-strip: wrong-profile, profile-for-another: wrong-profile",
    ),
    ("grey-dusty-black", "wrong-black-ink", "other-black-used: wrong-black-ink"),
    (
        "blocked-shadows",
        "total-ink-too-high",
        "ink-limit-sheet: total-ink-too-high, back-puckered: total-ink-too-high",
    ),
    ("hook", "total-ink-too-high", "last-five-steps: total-ink-too-high"),
    (
        "weak-black-and-colour",
        "ink-limit-too-low wrong-media-setting wrong-side",
        "more-ink-setting: ink-limit-too-low, damp-finger-side: wrong-side",
    ),
    (
        "ink-beads",
        "wrong-side medium-unsuited room-too-humid total-ink-too-high",
        "wet-after-ten-minutes: medium-unsuited, room-above-60: room-too-humid",
    ),
    (
        "feathered-lines",
        "coat-too-absorbent total-ink-too-high old-stock",
        "lines-spread-all-colours: coat-too-absorbent",
    ),
    (
        "mottle",
        "total-ink-too-high uneven-coating low-resolution-mode",
        "finer-mode-cures: low-resolution-mode, fresh-lot-cures: uneven-coating",
    ),
    ("fine-light-lines", "missing-nozzles", "nozzles-missing: missing-nozzles"),
    (
        "regular-bands",
        "feed-advance-wrong",
        "advance-test-moves: feed-advance-wrong, bands-in-all-colours: feed-advance-wrong",
    ),
    ("grain-double-edges", "head-misaligned", "alignment-chart-off: head-misaligned"),
    ("left-right-difference", "uneven-across suction-wrong", "strip-across-width: uneven-across"),
    ("first-print-differs", "idle-or-cleaning temperature-change", "three-in-a-row: idle-or-cleaning"),
    (
        "smear-at-one-place",
        "gap-too-small roll-memory room-too-dry",
        "sheet-lifts: roll-memory, wider-gap-cures: gap-too-small",
    ),
    (
        "wavy-while-printing",
        "total-ink-too-high thin-base room-too-humid",
        "back-puckered: thin-base",
    ),
    ("sharp-white-specks", "loose-lint", "hole-shows-whole-coating: loose-lint"),
    (
        "white-craters",
        "medium-coat-brittle",
        "corner-bent-flakes: medium-coat-brittle, tape-lifts-ink: medium-coat-brittle",
    ),
    ("dark-hairs", "dust-landed", "fibre-on-surface: dust-landed"),
    ("row-of-dots", "wheel-marks", "dots-at-wheel-pitch: wheel-marks"),
    ("parallel-scratches", "path-dirty", "blank-sheet-scratched: path-dirty"),
    ("not-square", "roll-askew", "edge-wanders: roll-askew"),
    (
        "wrong-length",
        "feed-advance-wrong canvas-shrinks",
        "mark-off-while-wet: feed-advance-wrong, mark-shrinks-later: canvas-shrinks",
    ),
    ("curls-toward-image", "room-too-dry", "room-below-35: room-too-dry"),
    ("curl-near-core", "roll-memory", "curl-less-at-roll-start: roll-memory"),
    ("bronze-sheen", "ink-on-top total-ink-too-high", "sheen-when-tilted: ink-on-top"),
    ("gloss-difference", "ink-gloss-unlike", "highlights-step-in-gloss: ink-gloss-unlike"),
    ("greys-change-with-light", "greys-from-colours", "half-print-two-lamps: greys-from-colours"),
    (
        "pair-differs-at-home",
        "brighteners-differ metameric-pair",
        "difference-gone-without-uv: brighteners-differ",
    ),
    (
        "too-dark-for-client",
        "weak-viewing-light bright-screen",
        "wall-is-dim: weak-viewing-light, screen-outshines-paper: bright-screen",
    ),
    ("darker-tomorrow", "not-cured", "colour-moves-in-a-day: not-cured"),
    ("fog-inside-glass", "glazed-too-soon", "wiped-film-is-greasy: glazed-too-soon"),
    ("bubbles-under-laminate", "laminated-too-soon", "sooner-than-rule: laminated-too-soon"),
    ("silver-pinpoints", "laminate-poor-contact", "pinpoints-press-away: laminate-poor-contact"),
    ("rub-marks", "scuffed", "marks-only-on-surface: scuffed"),
    ("finger-marks", "touched", "marks-shaped-like-fingers: touched"),
    (
        "comes-off-damp",
        "not-cured water-sensitive left-uncoated",
        "cured-scrap-still-gives: water-sensitive",
    ),
    ("tide-ring", "water-sensitive", "drop-leaves-ring: water-sensitive"),
    (
        "cracks-at-wrap",
        "left-uncoated topcoat-brittle sharp-bar-edge stretched-cold",
        (
            "crack-is-split-line: topcoat-brittle, warm-scrap-folds: stretched-cold,"
            " rounded-edge-folds: sharp-bar-edge"
        ),
    ),
    ("flakes-at-corner", "medium-coat-bond", "tape-lifts-ink: medium-coat-bond"),
    (
        "slack-canvas",
        "humidity-swing under-tensioned",
        "slack-from-first-day: under-tensioned, humidity-log-swings: humidity-swing",
    ),
    (
        "orange-skin",
        "coat-too-heavy spray-arrives-dry liquid-too-thick",
        "flow-cup-too-slow: liquid-too-thick, gun-was-far: spray-arrives-dry",
    ),
    ("sandy-overspray", "spray-arrives-dry", "sand-rubs-off: spray-arrives-dry"),
    ("foam-pinholes", "coat-foamed coat-too-heavy", "rested-liquid-cures: coat-foamed"),
    ("milky-patches", "moisture-trapped", "milk-clears-in-days: moisture-trapped"),
    ("gloss-stripes", "passes-not-overlapped", "stripes-at-pass-pitch: passes-not-overlapped"),
    ("fish-eyes", "silicone-or-oil", "craters-on-glass: silicone-or-oil"),
    ("whites-warmer-coated", "uv-absorbing-coat", "white-moves-only-with-uv: uv-absorbing-coat"),
    ("yellow-on-wall", "brightener-used-up", "covered-border-still-white: brightener-used-up"),
    ("yellow-in-drawer", "stain-in-the-dark", "yellows-in-the-dark: stain-in-the-dark"),
    (
        "reorder-does-not-match",
        "lot-changed printer-drift judged-in-other-light reference-aged ink-changed",
        "covered-part-matches: reference-aged, control-strip: printer-drift, whites-read-unlike: lot-changed",
    ),
]
CHECKED = [
    (symptom, *(part.strip() for part in told.split(":")))
    for symptom, _, checks in ROWS
    for told in checks.split(",")
]


def chances(ranking):
    return {item.cause.id: item.probability for item in ranking.causes}


def odds(chance):
    return chance / (1.0 - chance)


def test_every_row_is_here_once():
    assert len(ROWS) == len({symptom for symptom, _, _ in ROWS}) == 52


@pytest.mark.parametrize(("symptom", "causes", "_checks"), ROWS, ids=[row[0] for row in ROWS])
def test_a_symptom_alone_ranks_a_cause_of_its_row_among_the_first_three(faults, symptom, causes, _checks):
    first = [item.cause.id for item in rank(faults, {symptom: "present"}).causes[:3]]
    assert set(first) & set(causes.split()), f"{symptom}: {first}"


@pytest.mark.parametrize(("symptom", "check", "cause"), CHECKED, ids=[f"{c[0]}: {c[1]}" for c in CHECKED])
def test_the_check_of_a_row_tells_as_the_row_says(faults, symptom, check, cause):
    marks = {symptom: "present"}
    before = chances(rank(faults, marks))[cause]
    yes = chances(rank(faults, marks, answers={check: "yes"}))
    no = chances(rank(faults, marks, answers={check: "no"}))
    assert no[cause] < before < yes[cause]
    assert odds(yes[cause]) > 2.0 * odds(no[cause]), "a check that hardly moves its cause tells nothing"


def test_bands_in_one_colour_turn_from_the_feed_to_the_head(faults):
    """Bands in all colours mean feed, in one colour the head: several public sources."""
    found = chances(rank(faults, {"regular-bands": "present"}, answers={"bands-in-all-colours": "no"}))
    assert found["missing-nozzles"] > 2.0 * found["feed-advance-wrong"]


def test_an_old_scrap_that_holds_turns_from_a_sensitive_print_to_one_that_is_not_cured(faults):
    found = chances(rank(faults, {"comes-off-damp": "present"}, answers={"cured-scrap-still-gives": "no"}))
    assert max(found, key=found.__getitem__) == "not-cured"


def test_black_ink_tells_a_dusty_black_from_too_little_ink(faults):
    """The two share a weak black; a dusty one, and then the ink log, tell them apart."""
    weak = {"weak-black-and-colour": "present"}
    dusty = {**weak, "grey-dusty-black": "present"}
    assert chances(rank(faults, weak))["ink-limit-too-low"] > chances(rank(faults, weak))["wrong-black-ink"]
    assert rank(faults, dusty).causes[0].cause.id == "wrong-black-ink"
    settled = chances(rank(faults, dusty, answers={"other-black-used": "no"}))
    assert settled["wrong-black-ink"] < 0.1 < settled["ink-limit-too-low"]
