"""Passwords: what may be one, and how it is hashed and checked."""

from __future__ import annotations

import threading
import unicodedata
from collections.abc import Sequence

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from laydown.kernel.constants import Constant
from laydown.kernel.errors import RefusedInput

SHORTEST = Constant(12, "characters", "OWASP ASVS 5.0, 6.2.1 asks for 8 and advises 15", "from memory")
LONGEST = Constant(128, "characters", "OWASP ASVS 5.0, 6.2.9 asks that 64 be allowed", "from memory")
EASIEST = Constant(
    1e8, "guesses", "chosen here: beyond what the slowed-down sign-in lets anybody try", "computed"
)
# Argon2id with the second recommendation of RFC 9106 (64 MiB, three passes), the library's default.
_HASHER = PasswordHasher()
# Each check takes 64 MiB for a moment; strangers must not be able to take it many times at once.
_ONE_AT_A_TIME = threading.BoundedSemaphore(2)


def hash_password(password: str, *, known_words: Sequence[str] = ()) -> str:
    """The hash of a new password.

    Parameters
    ----------
    password
        Any characters; spaces count.
    known_words
        Words somebody would try first: the person's and the studio's names.

    Raises
    ------
    RefusedInput
        It is too short, too long, or among what is tried first.
    """
    text = _normal(password)
    if not SHORTEST.value <= len(text) <= LONGEST.value:
        raise RefusedInput(
            f"a password has {SHORTEST.value:g} to {LONGEST.value:g} characters; this one has {len(text)}.",
            todo="Four or five words that do not belong together are easy to type and hard to guess.",
        )
    from zxcvbn import zxcvbn

    # The estimate looks words up in lists of common passwords, names and dictionaries. It takes long for
    # long passwords, and what makes one easy to guess shows in its first part.
    if zxcvbn(text[:72], user_inputs=list(known_words))["guesses"] < EASIEST.value:
        raise RefusedInput(
            "this password is easy to guess.",
            todo="Leave out names and patterns; take four or five words that do not belong together.",
        )
    with _ONE_AT_A_TIME:
        return _HASHER.hash(text)


def password_fits(password: str, hashed: str | None) -> bool:
    """Whether a password is the one of this hash; takes as long where there is no hash."""
    text = _normal(password)[: int(LONGEST.value) + 1]
    with _ONE_AT_A_TIME:
        try:
            _HASHER.verify(hashed or _NOBODYS, text)
        except (VerificationError, InvalidHashError):
            return False
    return hashed is not None


def _normal(password: str) -> str:
    """The same characters typed on another keyboard are the same password."""
    return unicodedata.normalize("NFC", password)


# The hash of a password nobody has (random bytes, thrown away), so that an unknown name is answered as slowly
# as a known one.
_NOBODYS = "$argon2id$v=19$m=65536,t=3,p=4$aNt+2WFQCv5ovcp5sbcK8Q$O7H9Ljsi6Yz5KYxdLu3MYHaljMIK2Sm4Ey2MbXBXHQ8"
