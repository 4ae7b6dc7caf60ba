"""Names that must not leave the studio, and how they are kept out of a file for others."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from laydown.records.look import Look
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Medium, Supplier
from laydown.trials.trial import Candidate, Trial

HOUSE_WORDS = "the house medium"
ANOTHER = "another medium"
_LEFT_OUT = "(left out)"
_BRACKETS = re.compile(r"\s*\([^()]*\)\s*$")
_SHORT = 3  # names up to here are met by chance in other words' places, so that their case must fit


@dataclass(frozen=True, slots=True)
class HiddenNames:
    """Names to keep out, each with what stands in its place; ``own`` names may stay, longest first."""

    instead: Mapping[str, str]
    own: frozenset[str]

    def clean(self, text: str) -> str:
        """A text with every hidden name replaced."""
        pattern = self._pattern()
        return text if pattern is None else pattern.sub(lambda found: self._place(found.group()), text)

    def clean_all(self, value: Any) -> Any:
        """Plain JSON values with every text in them cleaned."""
        if isinstance(value, str):
            return self.clean(value)
        if isinstance(value, Mapping):
            return {key: self.clean_all(one) for key, one in value.items()}
        if isinstance(value, list | tuple):
            return [self.clean_all(one) for one in value]
        return value

    def found_in(self, content: bytes) -> bool:
        """Whether a file names one of them, however its text is written."""
        return any(self.clean(text) != text for text in _texts(content))

    def _pattern(self) -> re.Pattern[str] | None:
        names = sorted({*self.instead, *self.own}, key=lambda name: (-len(name), name))
        if not self.instead:
            return None
        each = (re.escape(name) if len(name) <= _SHORT else f"(?i:{_spaced(name)})" for name in names)
        return re.compile(rf"(?<!\w)(?:{'|'.join(each)})(?!\w)")

    def _place(self, found: str) -> str:
        said = _folded(found)
        if any(_folded(name) == said for name in self.own):
            return found
        return next((place for name, place in self.instead.items() if _folded(name) == said), _LEFT_OUT)


def hidden_names(
    look: Look, facts: TrialFacts | None, *, medium: Medium | None, keep_trial: bool
) -> HiddenNames:
    """Clients, trials, media, their arms and suppliers, other than those of the print that is retraced."""
    instead: dict[str, str] = {}
    own: set[str] = set()
    for trial in look.find(Trial):
        _add(instead, trial.client, "a client")
        kept = keep_trial and facts is not None and trial.id == facts.trial.id
        (own.update([trial.name]) if kept else _add(instead, trial.name, "a trial"))
    house = {one.medium_id for one in facts.candidates if one.house} if facts else set()
    for other in look.find(Medium):
        if medium is None or other.id != medium.id:
            _add(instead, other.name, HOUSE_WORDS if other.id in house else ANOTHER)
    for arm in look.find(Candidate):
        if medium is not None and arm.medium_id == medium.id:
            own.add(arm.name)
        else:
            _add(instead, arm.name, HOUSE_WORDS if arm.medium_id in house and arm.house else ANOTHER)
    for supplier in look.find(Supplier):
        if medium is not None and supplier.id == medium.supplier_id:
            own.add(supplier.name)
        else:
            _add(instead, supplier.name, "another supplier")
    if medium is not None:
        own |= {medium.name, _bare(medium.name)}
    folded = {_folded(name) for name in own}
    return HiddenNames(
        {name: place for name, place in instead.items() if _folded(name) not in folded},
        frozenset(name for name in own if len(name) > 1),
    )


def _texts(content: bytes) -> Iterator[str]:
    """A file as the texts it may hold. Wide letters may begin at an odd byte, as in what cameras write."""
    try:
        yield content.decode("utf-8")
    except UnicodeDecodeError:
        yield content.decode("latin-1")
        yield content.decode("utf-8", "ignore")
    if b"\0" in content:
        for start in (0, 1):
            for encoding in ("utf-16-le", "utf-16-be"):
                yield content[start:].decode(encoding, "ignore")


def _add(instead: dict[str, str], name: str, place: str) -> None:
    for one in _both(name):
        instead.setdefault(one, place)


def _both(name: str) -> Iterable[str]:
    """A name, and the name without what stands in brackets after it; one letter names nobody."""
    whole = name.strip()
    return (one for one in dict.fromkeys((whole, _bare(whole))) if len(one) > 1)


def _bare(name: str) -> str:
    return _BRACKETS.sub("", name)


def _spaced(name: str) -> str:
    """A name however its words are set apart, as in the names of files."""
    return r"[\s_.-]+".join(re.escape(word) for word in name.split())


def _folded(name: str) -> str:
    return re.sub(r"[\s_.-]+", " ", name).casefold().strip()
