"""Finds words in everything that is kept: trials, sheets, media, rolls, notes and the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from types import MappingProxyType
from typing import Any, Literal, get_args

from sqlalchemy import Select, literal, or_, select
from sqlalchemy.sql.elements import ColumnElement

from laydown.records.look import Look
from laydown.records.tables import TABLES
from laydown.records.text_match import may_hold, really_holds
from laydown.trials.remarks import Attachment, Note
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate, Trial

FoundKind = Literal[
    "trial", "candidate", "sheet", "medium", "lot", "roll", "printer", "supplier", "certificate", "retrace",
    "note", "attachment",
]  # fmt: skip
KINDS: tuple[FoundKind, ...] = get_args(FoundKind)

_T, _C, _S, _M, _L, _R = (TABLES[noun].c for noun in (Trial, Candidate, Sheet, Medium, Lot, Roll))
_P, _SU, _CE, _RE = (TABLES[noun].c for noun in (Printer, Supplier, Certificate, Retrace))
_N, _A = (TABLES[noun].c for noun in (Note, Attachment))
_EMPTY: ColumnElement[str] = literal("")


@dataclass(frozen=True, slots=True)
class Found:
    """Something that holds the words. ``title`` is what it is called, ``context`` what it belongs to,
    ``text`` its remarks; ``about`` is the id of what a note or file is about, else "".
    """

    kind: FoundKind
    id: str
    trial_id: str
    about: str
    title: str
    context: str
    text: str


@dataclass(frozen=True, slots=True)
class _Where:
    """How one kind is looked through: which columns make a ``Found``, from which tables, what is matched.

    Every word must stand in its ``own`` columns or in those ``around`` it, and one at least in its own: a
    sheet is found by its code and the name of its trial, not by the name of its trial alone.
    """

    title: Any
    source: Any
    own: tuple[ColumnElement[str], ...]
    around: tuple[ColumnElement[str], ...] = ()
    order: tuple[ColumnElement[Any], ...] = ()
    trial_id: ColumnElement[Any] = _EMPTY
    about: ColumnElement[Any] = _EMPTY
    context: ColumnElement[Any] = _EMPTY
    text: ColumnElement[str] = _EMPTY

    def holds(self, texts: Sequence[str | None], words: Sequence[str]) -> bool:
        """Whether a row with these texts in the columns of ``own`` and ``around`` is meant."""
        own = texts[: len(self.own)]
        return really_holds(texts, words) and any(really_holds(own, [word]) for word in words)


def search(
    look: Look, words: Sequence[str], kind: FoundKind, *, limit: int, offset: int = 0
) -> tuple[Found, ...]:
    """Things of one kind that hold every word, whatever the case of its letters."""
    where = _WHERE[kind]
    own_id = where.title.table.c.id
    shown = (own_id, where.trial_id, where.about, where.title, where.context, where.text)
    matched = (*where.own, *where.around)
    wanted: Select[Any] = select(*shown, *matched).select_from(where.source)
    for word in words:
        wanted = wanted.where(may_hold(matched, word))
    wanted = wanted.where(or_(*(may_hold(where.own, word) for word in words)))
    wanted = wanted.order_by(*where.order, where.title, own_id)
    exact = all(word.isascii() for word in words)  # then the database has found exactly those
    rows = look.connection.execute(wanted.limit(limit).offset(offset) if exact else wanted)
    holding = (row for row in rows if exact or where.holds(row[len(shown) :], words))
    picked = holding if exact else islice(holding, offset, offset + limit)
    return tuple(Found(kind, *(value or "" for value in row[: len(shown)])) for row in picked)


def _in_trial(noun: type[Any]) -> Any:
    return TABLES[noun].outerjoin(TABLES[Trial], TABLES[noun].c.trial_id == _T.id)


_OF_LOT = TABLES[Lot].join(TABLES[Medium], _M.id == _L.medium_id)
_OF_ROLL = TABLES[Roll].join(TABLES[Lot], _L.id == _R.lot_id).join(TABLES[Medium], _M.id == _L.medium_id)
_OF_CANDIDATE = _in_trial(Sheet).join(TABLES[Candidate], _C.id == _S.candidate_id)

_WHERE: Mapping[FoundKind, _Where] = MappingProxyType(
    {
        "trial": _Where(
            _T.name,
            TABLES[Trial],
            own=(_T.name, _T.question, _T.client),
            order=(_T.begun.desc(),),
            trial_id=_T.id,
            context=_T.client,
            text=_T.question,
        ),
        "candidate": _Where(
            _C.name,
            _in_trial(Candidate),
            own=(_C.name, _C.words, _C.withdrawn_why),
            around=(_T.name,),
            order=(_T.begun.desc(),),
            trial_id=_C.trial_id,
            context=_T.name,
            text=_C.words,
        ),
        "sheet": _Where(
            _S.code,
            _OF_CANDIDATE,
            own=(_S.code, _S.words),
            around=(_C.name, _T.name),
            order=(_T.begun.desc(),),
            trial_id=_S.trial_id,
            context=_T.name,
            text=_C.name,
        ),
        "medium": _Where(
            _M.name,
            TABLES[Medium],
            own=(_M.name, _M.base, _M.words, _M.brightener_claim, _M.other_claims),
            context=_M.base,
            text=_M.words,
        ),
        "lot": _Where(
            _L.code,
            _OF_LOT,
            own=(_L.code, _L.words),
            around=(_M.name,),
            context=_M.name,
            text=_L.words,
        ),
        "roll": _Where(
            _R.code,
            _OF_ROLL,
            own=(_R.code, _R.words),
            around=(_L.code, _M.name),
            context=_M.name,
            text=_R.words,
        ),
        "printer": _Where(
            _P.name,
            TABLES[Printer],
            own=(_P.name, _P.serial, _P.ink_set, _P.firmware, _P.words),
            context=_P.serial,
            text=_P.words,
        ),
        "supplier": _Where(
            _SU.name,
            TABLES[Supplier],
            own=(_SU.name, _SU.contact, _SU.words),
            context=_SU.contact,
            text=_SU.words,
        ),
        "certificate": _Where(
            _CE.title,
            TABLES[Certificate],
            own=(_CE.title, _CE.laboratory, _CE.method, _CE.medium_as_stated, _CE.ink, _CE.result, _CE.words),
            context=_CE.laboratory,
            text=_CE.result,
        ),
        "retrace": _Where(
            _RE.title,
            _in_trial(Retrace),
            own=(_RE.title, _RE.words),
            around=(_T.name,),
            order=(_RE.begun_at.desc(),),
            trial_id=_RE.trial_id,
            context=_T.name,
            text=_RE.words,
        ),
        "note": _Where(
            _N.words,
            _in_trial(Note),
            own=(_N.words,),
            around=(_T.name,),
            order=(_N.at.desc(),),
            trial_id=_N.trial_id,
            about=_N.about,
            context=_T.name,
        ),
        "attachment": _Where(
            _A.name,
            _in_trial(Attachment),
            own=(_A.name, _A.words),
            around=(_T.name,),
            order=(_A.at.desc(),),
            trial_id=_A.trial_id,
            about=_A.about,
            context=_T.name,
            text=_A.words,
        ),
    }
)
