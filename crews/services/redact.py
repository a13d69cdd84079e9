"""Keeps secrets where they belong: link addresses out of the log, gate codes out of calendars."""

from __future__ import annotations

import logging
import re

CLAUSE_ENDS = re.compile(r"(?<=[.;])\s+|\n+")
CODE_WORD = re.compile(
    r"\b(?:codes?|combo|combination|key ?pad|key ?box|lock ?box|pass ?code|password|pin"
    r"|c[oó]digo|clave|contraseña)\b",
    re.IGNORECASE,
)
LOCK_WORD = re.compile(
    r"\b(?:gates?|garage|doors?|locks?|alarm|port[oó]n|puerta|candado|alarma)\b", re.IGNORECASE
)
DIGITS = re.compile(
    r"(?<![\d.,])[#*]?\d(?:[\s-]?\d){2,9}[#*]?(?![\d.,]*\d)"
    r"(?!\s*(?:ft|feet|in|inch|inches|lb|lbs|yd|m|mm|cm|kg|psi|tons?|\N{DEGREE SIGN}|%)\b)",
    re.IGNORECASE,
)
KEYED = re.compile(r"[#*]\s?\d{2,}|\d{2,}\s?[#*]")
ASK_FOR_CODE = "There is a code: ask the office for it."
SECRET = re.compile(r"(/(?:feed|h|phone|crew/set-up)/)[\w-]{8,}")


def without_secrets(text: str) -> str:
    """Return text with the token of every secret address blanked."""
    return SECRET.sub(r"\1(secret)", text)


def without_codes(text: str) -> str:
    """Return what people wrote about the way in, less everything that may be a code.

    Calendars are copied to accounts that are not ours, so a clause is rather lost than let through:
    any that speaks of a code, any figure beside a lock or with a key sign, and once a code is spoken
    of, any figure of three digits or more that is no measure. What was left out is told.
    """
    clauses = [part.strip() for part in CLAUSE_ENDS.split(text) if part.strip()]
    spoken_of = CODE_WORD.search(text) is not None
    kept = [clause for clause in clauses if not _tells(clause, spoken_of=spoken_of)]
    told = " ".join(kept)
    return told if len(kept) == len(clauses) else f"{told}\n{ASK_FOR_CODE}".strip()


def _tells(clause: str, *, spoken_of: bool) -> bool:
    if CODE_WORD.search(clause) or KEYED.search(clause):
        return True
    return bool(DIGITS.search(clause)) and (spoken_of or LOCK_WORD.search(clause) is not None)


class NoSecrets(logging.Filter):
    """Rewrites each record before it is written."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Blank secrets in message and arguments; always lets the record through."""
        record.msg = without_secrets(record.getMessage())
        record.args = ()
        return True
