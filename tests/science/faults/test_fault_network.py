"""Chances of causes against the sum over every set of causes, which needs no cleverness."""

from __future__ import annotations

import itertools
import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import RefusedInput, TooLarge
from laydown.science.faults import MOST_PRESENT, Evidence
from laydown.science.faults.foretelling import Foretold, expected_gain, foretell
from laydown.science.faults.network import Known, check_question, gather, symptom_question
from laydown.science.faults.posterior import posterior

chance = st.floats(0.01, 0.95)
ratio = st.sampled_from([0.05, 0.5, 1.0, 3.0, 40.0])


@st.composite
def cases(draw, build):
    """A random small model with random marks, answers and evidence."""
    causes = [f"c{i}" for i in range(draw(st.integers(1, 5)))]
    symptoms = [f"s{i}" for i in range(draw(st.integers(1, 4)))]
    checks = [f"k{i}" for i in range(draw(st.integers(0, 3)))]
    some = st.dictionaries(st.sampled_from(symptoms), chance)
    bearing = st.tuples(st.floats(0.05, 0.9), st.dictionaries(st.sampled_from(causes), chance, min_size=1))
    model = build(
        priors={c: draw(st.floats(0.01, 0.6)) for c in causes},
        links={c: draw(some) for c in causes},
        leaks={s: draw(st.floats(0.005, 0.5)) for s in symptoms},
        bearings={k: draw(bearing) for k in checks},
    )
    marks = {s: draw(st.sampled_from(["present", "absent", "not looked at"])) for s in symptoms}
    answers = {k: draw(st.sampled_from(["yes", "no", "unsure"])) for k in checks}
    told = draw(st.lists(st.dictionaries(st.sampled_from(causes), ratio, min_size=1), max_size=2))
    evidence = [Evidence(f"e{i}", "Found.", "So.", ratios, "made up") for i, ratios in enumerate(told)]
    return model, marks, answers, evidence


def likelihood(model, present, marks, answers, evidence):
    """P(everything known | exactly these causes), written straight from the definitions."""
    product = 1.0
    for symptom, mark in marks.items():
        spared = 1.0 - model.leaks[symptom]
        for cause in present:
            spared *= 1.0 - model.links[cause].get(symptom, 0.0)
        product *= {"present": 1.0 - spared, "absent": spared, "not looked at": 1.0}[mark]
    for check, answer in answers.items():
        yes = yes_of(model, check, present)
        product *= {"yes": yes, "no": 1.0 - yes, "unsure": 1.0}[answer]
    for piece in evidence:
        product *= math.prod(piece.ratios.get(cause, 1.0) for cause in present)
    return product


def yes_of(model, check, present):
    """P(yes | exactly these causes): raisers as a noisy OR, lowerers each letting a share of yes pass."""
    bearing = model.bearings[check]
    missed, passed = 1.0 - bearing.otherwise, 1.0
    for cause in present:
        alone = bearing.yes_if.get(cause, bearing.otherwise)
        if alone >= bearing.otherwise:
            missed *= (1.0 - alone) / (1.0 - bearing.otherwise)
        else:
            passed *= alone / bearing.otherwise
    return passed * (1.0 - missed)


def by_enumeration(model, marks, answers, evidence):
    """Chances of all causes, and of everything known, by summing over all sets of causes."""
    causes = list(model.causes)
    joint, total = np.zeros(len(causes)), 0.0
    for flags in itertools.product((False, True), repeat=len(causes)):
        present = [cause for cause, flag in zip(causes, flags, strict=True) if flag]
        prior = math.prod(
            model.priors[cause] if flag else 1.0 - model.priors[cause]
            for cause, flag in zip(causes, flags, strict=True)
        )
        weight = prior * likelihood(model, present, marks, answers, evidence)
        total += weight
        joint += weight * np.array(flags)
    return joint / total, total


@settings(deadline=None, max_examples=150)
@given(data=st.data())
def test_chances_equal_the_sum_over_all_sets_of_causes(data, build_model):
    model, marks, answers, evidence = data.draw(cases(build_model))
    found = posterior(gather(model, marks=marks, answers=answers, evidence=evidence))
    chances, total = by_enumeration(model, marks, answers, evidence)
    # All terms are positive, so that only rounding is left: some 1e-15 for each of a few hundred steps.
    np.testing.assert_allclose(found.chances, chances, rtol=1e-10, atol=1e-13)
    assert found.log_evidence == pytest.approx(math.log(total), abs=1e-9)


@settings(deadline=None, max_examples=100)
@given(data=st.data())
def test_what_is_foretold_is_what_an_answer_brings(data, build_model):
    model, marks, answers, evidence = data.draw(cases(build_model))
    open_checks = [check for check, answer in answers.items() if answer == "unsure"]
    known = gather(model, marks=marks, answers=answers, evidence=evidence)
    questions = [check_question(model, check) for check in open_checks]
    foretold = foretell(known, questions, now=posterior(known).chances)
    assert foretold.exact
    _, before = by_enumeration(model, marks, answers, evidence)
    for row, check in enumerate(open_checks):
        for answer, given_it, how_likely in (
            ("yes", foretold.given_yes[row], foretold.yes[row]),
            ("no", foretold.given_no[row], 1.0 - foretold.yes[row]),
        ):
            after, total = by_enumeration(model, marks, {**answers, check: answer}, evidence)
            assert how_likely == pytest.approx(total / before, abs=1e-8)
            # Forecasts may lose digits to cancelling, most where an answer is rare.
            np.testing.assert_allclose(given_it, after, atol=1e-6)


@settings(deadline=None, max_examples=60)
@given(data=st.data())
def test_marking_a_symptom_never_lowers_a_cause_whose_only_link_is_to_it(data, build_model):
    model, marks, answers, evidence = data.draw(cases(build_model))
    strength = data.draw(chance)
    model = build_model(
        priors={**model.priors, "lone": 0.1},
        links={**model.links, "lone": {"s0": strength}},
        leaks=dict(model.leaks),
        bearings={check: (b.otherwise, b.yes_if) for check, b in model.bearings.items()},
    )
    place = list(model.causes).index("lone")

    def lone(mark):
        known = gather(model, marks={**marks, "s0": mark}, answers=answers, evidence=evidence)
        return posterior(known).chances[place]

    assert lone("present") >= lone("not looked at") - 1e-12
    assert lone("absent") <= lone("not looked at") + 1e-12
    assert lone("not looked at") == pytest.approx(0.1, rel=1e-12), "nothing else bears on it"


@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_the_order_of_marks_and_an_unsure_answer_change_no_digit(data, build_model):
    model, marks, answers, evidence = data.draw(cases(build_model))
    first = posterior(gather(model, marks=marks, answers=answers, evidence=evidence)).chances
    turned = dict(reversed(marks.items()))
    sure = {check: answer for check, answer in answers.items() if answer != "unsure"}
    again = posterior(gather(model, marks=turned, answers=dict(reversed(sure.items())), evidence=evidence))
    assert np.array_equal(first, again.chances)


def test_two_causes_of_one_symptom_by_hand(build_model):
    # P(s) = 1 - 0.95 (1 - 0.1*0.8) (1 - 0.2*0.5) = 1 - 0.95*0.92*0.9 = 0.2134
    # P(a, s) = 0.1 (1 - 0.95*0.2*0.9) = 0.1*0.829 = 0.0829    P(a | s) = 0.0829/0.2134 = 0.388472...
    # P(b, s) = 0.2 (1 - 0.95*0.92*0.5) = 0.2*0.563 = 0.1126   P(b | s) = 0.1126/0.2134 = 0.527647...
    model = build_model(
        priors={"a": 0.1, "b": 0.2}, links={"a": {"s": 0.8}, "b": {"s": 0.5}}, leaks={"s": 0.05}
    )
    found = posterior(gather(model, marks={"s": "present"}, answers={}, evidence=()))
    assert found.chances == pytest.approx([0.0829 / 0.2134, 0.1126 / 0.2134], rel=1e-12)
    assert math.exp(found.log_evidence) == pytest.approx(0.2134, rel=1e-12)
    # Absent: odds of a fall by 1 - 0.8, so 0.1*0.2/(0.1*0.2 + 0.9) = 0.02/0.92.
    found = posterior(gather(model, marks={"s": "absent"}, answers={}, evidence=()))
    assert found.chances[0] == pytest.approx(0.02 / 0.92, rel=1e-12)


def test_a_check_that_some_causes_speak_for_and_others_against_by_hand(build_model):
    # No cause: 0.2. a alone: 0.9. b alone: 0.05, so it lets a quarter of yes pass. Both: 0.25 * 0.9 = 0.225.
    # With a 0.5 and b 0.5 beforehand, P(yes) = (0.2 + 0.9 + 0.05 + 0.225)/4 = 0.34375.
    # P(a | yes) = (0.9 + 0.225)/4 / 0.34375 = 9/11. P(a | no) = (0.1 + 0.775)/4 / 0.65625 = 1/3.
    model = build_model(
        priors={"a": 0.5, "b": 0.5},
        links={"a": {"s": 0.5}, "b": {"s": 0.5}},
        leaks={"s": 0.1},
        bearings={"k": (0.2, {"a": 0.9, "b": 0.05})},
    )
    for answer, expected in (("yes", 9 / 11), ("no", 1 / 3)):
        known = gather(model, marks={}, answers={"k": answer}, evidence=())
        assert posterior(known).chances[0] == pytest.approx(expected, rel=1e-12)


def test_no_digits_are_lost_where_the_alternating_sum_cancels(faults):
    """Twelve symptoms that have nothing to do with one another, against Quickscore in 80 digits."""
    unlike = [
        *("dark-dull-cast", "feathered-lines", "fine-light-lines", "white-craters", "row-of-dots"),
        *("not-square", "bronze-sheen", "fog-inside-glass", "silver-pinpoints", "fish-eyes"),
        *("yellow-in-drawer", "solid-fades"),
    ]
    known = gather(faults, marks=dict.fromkeys(unlike, "present"), answers={}, evidence=())
    found = posterior(known).chances
    with localcontext() as context:
        context.prec = 80
        expected = _quickscore(faults, unlike)
    np.testing.assert_allclose(found, expected, rtol=1e-9)
    foretold = foretell(known, [check_question(faults, "nozzles-missing")], now=found)
    assert not foretold.exact, "in sixteen digits the sum is worthless here, and that is seen"
    assert 0.0 < foretold.yes[0] < 1.0


def _quickscore(model, present):
    """Heckerman's sum over subsets of the present symptoms, in decimal arithmetic."""
    causes, one = list(model.causes), Decimal(1)
    priors = [Decimal(repr(model.priors[c])) for c in causes]
    spared = [[one - Decimal(repr(model.links[c].get(s, 0.0))) for s in present] for c in causes]
    leaks = [one - Decimal(repr(model.leaks[s])) for s in present]
    joint, total = [Decimal(0)] * len(causes), Decimal(0)
    for subset in itertools.product((False, True), repeat=len(present)):
        inside = [j for j, flag in enumerate(subset) if flag]
        term = one if len(inside) % 2 == 0 else -one
        for j in inside:
            term *= leaks[j]
        shares = []
        for prior, row in zip(priors, spared, strict=True):
            with_it = prior
            for j in inside:
                if row[j] != one:
                    with_it *= row[j]
            mass = one - prior + with_it
            term *= mass
            shares.append(with_it / mass)
        total += term
        joint = [before + term * share for before, share in zip(joint, shares, strict=True)]
    return [float(value / total) for value in joint]


def test_foretelling_on_the_packaged_model_equals_answering(faults):
    marks = {"blocked-shadows": "present", "hook": "present", "wavy-while-printing": "absent"}
    answers = {"damp-finger-side": "no", "less-ink-cures": "no"}
    known = gather(faults, marks=marks, answers=answers, evidence=())
    open_checks = [check for check in faults.checks if check not in answers]
    foretold = foretell(
        known, [check_question(faults, check) for check in open_checks], now=posterior(known).chances
    )
    for row, check in enumerate(open_checks[::7]):
        for answer, given_it in (("yes", foretold.given_yes), ("no", foretold.given_no)):
            after = gather(faults, marks=marks, answers={**answers, check: answer}, evidence=())
            np.testing.assert_allclose(given_it[7 * row], posterior(after).chances, atol=1e-7)


def test_gain_of_a_perfect_and_of_a_worthless_check():
    even = np.array([0.5])
    # One even cause is one bit of uncertainty: a perfect check takes it all, a worthless one nothing.
    perfect = Foretold(np.array([0.5]), np.array([[1.0]]), np.array([[0.0]]), exact=True)
    worthless = Foretold(np.array([0.3]), np.array([[0.5]]), np.array([[0.5]]), exact=True)
    everything = np.array([True])
    assert expected_gain(even, perfect, counted=everything)[0] == pytest.approx(1.0, rel=1e-12)
    assert expected_gain(even, worthless, counted=everything)[0] == pytest.approx(0.0, abs=1e-12)
    assert expected_gain(even, perfect, counted=np.array([False]))[0] == 0.0


def test_nothing_known_gives_the_priors_back(faults):
    found = posterior(gather(faults, marks={}, answers={}, evidence=()))
    assert found.chances == pytest.approx(list(faults.priors.values()), rel=1e-12)
    assert found.log_evidence == pytest.approx(0.0, abs=1e-12)


def test_extreme_numbers_neither_overflow_nor_divide_by_nothing(build_model):
    symptoms = [f"s{i}" for i in range(60)]
    model = build_model(
        priors={"a": 0.5, "b": 0.5},
        links={"a": dict.fromkeys(symptoms, 0.9999), "b": {"s0": 0.5}},
        leaks=dict.fromkeys(symptoms, 0.0001),
    )
    absent = gather(model, marks=dict.fromkeys(symptoms, "absent"), answers={}, evidence=())
    assert posterior(absent).chances[0] == pytest.approx(0.0, abs=1e-200)
    three = dict.fromkeys(symptoms[1:4], "present")
    surely = posterior(gather(model, marks=three, answers={}, evidence=()))
    assert surely.chances[0] == pytest.approx(1.0, abs=1e-9)


def test_a_chain_and_its_sum_of_products_say_the_same(faults):
    """The two forms of one likelihood, for one cause at work at a time."""
    question = check_question(faults, "more-ink-setting")
    known = gather(faults, marks={}, answers={"more-ink-setting": "no"}, evidence=())
    (chain,) = known.chains
    for place in np.flatnonzero(question.bears):
        summed = float(chain.coefficients @ chain.keep[place])
        assert summed == pytest.approx(1.0 - float(question.yes_alone()[place]), rel=1e-12)
    assert isinstance(known, Known)


def test_bounds_and_strangers_are_refused_in_words(faults):
    many = dict.fromkeys(list(faults.symptoms)[: int(MOST_PRESENT.value) + 1], "present")
    with pytest.raises(TooLarge, match="13 symptoms are marked as present; 12 at most"):
        gather(faults, marks=many, answers={}, evidence=())
    most = dict.fromkeys(list(faults.symptoms)[: int(MOST_PRESENT.value)], "present")
    yes = dict.fromkeys(list(faults.checks), "yes")
    with pytest.raises(TooLarge, match="so many symptoms are marked and so many checks answered"):
        gather(faults, marks=most, answers=yes, evidence=())
    with pytest.raises(RefusedInput, match='no symptom called "gremlins"'):
        gather(faults, marks={"gremlins": "present"}, answers={}, evidence=())
    with pytest.raises(RefusedInput, match='the check "nozzles-missing" cannot be "maybe"'):
        gather(faults, marks={}, answers={"nozzles-missing": "maybe"}, evidence=())
    with pytest.raises(RefusedInput, match='names the unknown cause "gremlins"'):
        gather(faults, marks={}, answers={}, evidence=[Evidence("e", "", "", {"gremlins": 2.0}, "")])
    with pytest.raises(RefusedInput, match="speaks 1e\\+06 times"):
        gather(faults, marks={}, answers={}, evidence=[Evidence("e", "", "", {"touched": 1e6}, "")])


def test_a_cause_that_does_not_bring_a_symptom_has_no_say_in_it(faults):
    question = symptom_question(faults, "fish-eyes")
    linked = [cause for cause, bears in zip(faults.causes, question.bears, strict=True) if bears]
    assert linked == [cause for cause in faults.causes if "fish-eyes" in faults.links[cause]]
