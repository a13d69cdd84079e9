"""Says each line of the record as people say it: who did what, and how it was before and after.

Lines keep what was so in figures, slugs and dates; they are put into words when they are read, in the units the company works
with then.
"""

from __future__ import annotations

import re
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from jobs import models
from jobs.services.numbers.library import current_library
from jobs.services.numbers.own_words import tell_own
from jobs.services.telling.yardstick import Yardstick, yardstick

from .record_said import FACTS, SAID, WHO
from .record_values import say_value

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

NAMED = re.compile(r"\{([^}]+)\}")
PART = models.DayLog.Kind.PART.label
Facts = dict[str, Any]


class Told(NamedTuple):
    """A line of the record in words: who, ``changed the crew Stone``, and how it was before and after."""

    who: str
    said: str
    facts: tuple[str, ...]


class RecordTeller:
    """Tells lines of the record; what it has to look up, it looks up once."""

    @cached_property
    def stick(self) -> Yardstick:
        """How amounts are told."""
        return yardstick()

    def tell(self, entry: models.HistoryEntry, more: Iterable[str] = ()) -> Told:
        """Say a line.

        Parameters
        ----------
        more
            What is known besides, in words: of a published plan, whose finish it moved.
        """
        before, after = self._facts(entry.what, entry.before), self._facts(entry.what, entry.after)
        text = SAID.get(entry.what, entry.what)
        named = {name: say_value(name, (before | after).get(name)) for name in NAMED.findall(text)}
        facts = tuple(more) or tuple(_differing(before, after, set(named)))
        return Told(WHO.get(entry.by, entry.by), text.format_map(named).rstrip(":, "), facts)

    def _facts(self, what: str, kept: object) -> Facts:
        """What an entry keeps, by the names people use; a single text is ``it``."""
        if kept is None:
            return {}
        if not isinstance(kept, dict):
            return {"it": kept}
        if what.startswith("own figure"):
            return _own(kept)
        if what == "numbers taken":
            return {"library": kept["library"]} | _figures(kept["own"])
        if what.startswith("item "):
            return self._item(kept)
        if what.startswith("change order"):
            return {name: value for name, value in kept.items() if name != "state"}
        if what.startswith("day log"):
            return {"said": _logged(kept)}
        return _stood(kept["stood"]) if isinstance(kept.get("stood"), dict) else dict(kept)

    def _item(self, kept: Mapping[str, Any]) -> Facts:
        assembly = current_library().assemblies.get(kept["what"])
        asks = {ask.key: ask for ask in assembly.asks} if assembly else {}
        facts: Facts = {"what": assembly.name if assembly else kept["what"], "where": kept["where"]}
        for key, value in kept.items():
            if key in asks:
                facts[asks[key].name] = self.stick.answer(str(value), asks[key].unit)
            elif key not in facts:
                facts[key] = value
        return facts


def _own(kept: Mapping[str, Any]) -> Facts:
    return _figures([(kept["what"], kept["figure"])]) | {"why": kept["why"]}


def _figures(owns: Iterable[tuple[str, object]]) -> Facts:
    told = (tell_own(current_library(), path, value) for path, value in owns)
    return {f"{own.name}, {own.what}": own.own for own in told}


def _logged(kept: Mapping[str, Any]) -> str:
    """``Form the slab: stopped part-way, 60 %``; of the whole yard what was said alone."""
    share = f", {kept['share']} %" if kept["said"] == PART and kept.get("share") else ""
    return f"{kept['work']}: {kept['said']}{share}" if "work" in kept else str(kept["said"])


def _stood(kept: Mapping[str, Any]) -> Facts:
    """How a job stood before something was said of it, as one fact."""
    facts = {"stage" if name == "state" else name: value for name, value in kept.items()}
    told = (
        f"{FACTS.get(name, name)} {say_value(name, facts[name])}" for name in facts if facts[name]
    )
    return {"stood": ", ".join(told) or "nothing promised"}


def _differing(before: Facts, after: Facts, named: set[str]) -> Iterator[str]:
    """Each fact that is new, gone or otherwise; of what the sentence says already only how it was."""
    for name in {**after, **before}:
        was, now = (say_value(name, facts.get(name)) for facts in (before, after))
        label = FACTS.get(name, name)
        label = f"{label[:1].upper()}{label[1:]}"
        if was == now:
            continue
        if name in named:
            if name in before and name in after:
                yield f"Before that: {was or 'nothing'}"
        elif before and after and name != "stood":
            yield f"{label}: {now or 'nothing'}, before that {was or 'nothing'}"
        else:
            yield f"{label}: {now or was}"
