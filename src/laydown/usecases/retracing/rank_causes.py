"""Ranks the causes of a retrace by everything that is marked, answered and known."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.science.faults import Answer, Evidence, Mark, Ranking, rank
from laydown.trials.retracing import Retrace
from laydown.usecases.retracing.gather_evidence import Gathered, gathered
from laydown.usecases.retracing.own_faults import FaultsInUse, faults_in_use


@dataclass(frozen=True, slots=True, eq=False)
class Ranked:
    """The ranking of a retrace and what it came from; ``passed_over`` names marks no longer understood."""

    ranking: Ranking
    known: Gathered
    faults: FaultsInUse
    passed_over: tuple[str, ...]

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """What Laydown itself knew."""
        return self.known.evidence


def rank_causes(look: Look, retrace: Retrace) -> Ranked:
    """Rank the causes of a retrace as it is now.

    Raises
    ------
    TooLarge
        More is marked and answered than can be weighed exactly.
    """
    faults, known = faults_in_use(look), gathered(look, retrace)
    marks: dict[str, Mark] = {one.symptom: one.seen for one in retrace.symptoms}
    answers: dict[str, Answer] = {one.check: one.answer for one in retrace.answers}
    strangers = (*(set(marks) - set(faults.model.symptoms)), *(set(answers) - set(faults.model.checks)))
    ranking = rank(
        faults.model,
        {symptom: mark for symptom, mark in marks.items() if symptom in faults.model.symptoms},
        answers={check: answer for check, answer in answers.items() if check in faults.model.checks},
        evidence=known.evidence,
    )
    return Ranked(ranking, known, faults, tuple(sorted(strangers)))
