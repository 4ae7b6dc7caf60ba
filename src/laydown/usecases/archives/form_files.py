"""The files of test forms that travel: geometry of each page, reference, pictures of the studio's own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from laydown.records.look import Look
from laydown.trials.remarks import Attachment
from laydown.trials.test_form import TestForm
from laydown.usecases.retracing.hidden_names import HiddenNames


def form_files(look: Look, forms: Sequence[TestForm], *, for_others: bool) -> Iterator[tuple[str, str]]:
    """SHA-256 of every file of these forms that travels with a trial, and the name it goes by.

    Pictures of the studio's own stay ``for_others``; one that is attached somewhere as private always stays.
    """
    for form in forms:
        yield from _drawn(form)
    if for_others:
        return
    pictures = {one.sha256: one.name for form in forms for one in form.wish.pictures}
    private = {one.sha256 for one in look.find_any(Attachment, "sha256", pictures) if one.private}
    for sha256, name in pictures.items():
        # One that came without its file has none here either.
        if sha256 not in private and look.vault.size(sha256) is not None:
            yield sha256, name


def form_copies(
    look: Look, forms: Sequence[TestForm], hidden: HiddenNames, stays: list[str]
) -> Iterator[tuple[str, bytes]]:
    """Name and content of each file of these forms for a supplier; ``stays`` is told what stays and why."""
    for form in forms:
        for sha256, name in _drawn(form):
            content = look.read_file(sha256)
            if _shows_own_pictures(form, content):
                stays.append(f"{name}: pictures of your own lie on that page")
            elif hidden.found_in(content):
                stays.append(f"{name}: it names somebody else")
            else:
                yield f"forms/{name}", content


def _drawn(form: TestForm) -> Iterator[tuple[str, str]]:
    yield form.reference_sha256, f"form-{form.code}-reference.txt"
    for page in form.pages:
        yield page.geometry_sha256, f"form-{form.code}-{page.name}.json"


def _shows_own_pictures(form: TestForm, content: bytes) -> bool:
    """Whether a page of the studio's own pictures lies there: it names each by its content."""
    return any(one.sha256.encode() in content for one in form.wish.pictures if one.sha256)
