"""The tables of the library files: for each section which keys a row has and how each is read."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, fields
from typing import TYPE_CHECKING, Any

from . import assemblies, facts, library, precedence, templates
from . import loading_fields as read
from .work import Clock, Relation, Shift

if TYPE_CHECKING:
    from collections.abc import Mapping

    from .loading_fields import Reader

MATERIALS = ("moss", "clay", "slate", "lime", "brass", "rain", "ink")
"""Living, earth, stone, concrete, light and power, water, paper: what a work is drawn in."""
PLACES = ("zone", "item", "way-in", "job")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of row: what it becomes, the name of its key, its readers, what absence means.

    ``unless`` gives values for keys that the dataclass wants but a file may leave out.
    """

    build: type[Any]
    key: str
    readers: Mapping[str, Reader]
    absent: Mapping[str, object] = field(default_factory=dict)

    @property
    def needed(self) -> tuple[str, ...]:
        """Keys a row must have, in order."""
        return tuple(
            one.name
            for one in fields(self.build)
            if one.default is MISSING
            and one.default_factory is MISSING
            and one.name in self.readers
            and one.name not in self.absent
        )


KINDS: Mapping[str, Kind] = {
    "source": Kind(
        library.Source,
        "code",
        {"title": read.text, "status": read.one_of("read", "from memory", "common practice")},
    ),
    "crew": Kind(
        templates.CrewKind,
        "code",
        {"name": read.text, "skill": read.text, "usual": read.head_count, "outside": read.yes_no},
    ),
    "machine": Kind(
        templates.MachineKind,
        "key",
        {
            "name": read.text,
            "passage": read.length,
            "weight_lb": read.whole,
            "tread": read.tread,
            "source": read.text,
            "clearance": read.length,
            "counted": read.yes_no,
            "width": read.lengths,
            "pressure_psi": read.span,
            "note": read.text,
            "headroom": read.length,
        },
    ),
    "weather": Kind(
        library.WeatherClass,
        "key",
        {
            "name": read.text,
            "source": read.text,
            "rain_in_per_h": read.amount,
            "rain_in_per_day": read.amount,
            "dry_before_h": read.amount,
            "dry_after_h": read.amount,
            "wind_mph": read.amount,
            "air_min_f": read.number,
            "air_max_f": read.number,
            "needs_dry_ground": read.yes_no,
            "note": read.text,
            "hot_wind_mph": read.amount,
            "hot_f": read.number,
            "soil_min_f": read.number,
            "storm_in": read.amount,
            "storm_h": read.amount,
            "evaporation_max": read.amount,
            "concrete_max_f": read.number,
        },
    ),
    "wait": Kind(
        precedence.WaitKind,
        "key",
        {
            "name": read.text,
            "least": read.amount,
            "usual": read.amount,
            "high": read.amount,
            "unit": read.one_of("h", "d", "bd"),
            "clock": read.member(Clock),
            "why": read.text,
            "source": read.text,
            "keeps_out": read.tread,
            "passages": read.yes_no,
            "exempt": read.word_set,
            "after": read.texts,
            "instead_of": read.text,
        },
    ),
    "template": Kind(
        templates.Template,
        "key",
        {
            "name": read.text,
            "crew": read.text,
            "least": read.head_count,
            "unit": read.unit,
            "rate": read.rate,
            "weather": read.text,
            "material": read.one_of(*MATERIALS),
            "source": read.text,
            "machines": read.alternatives,
            "tread": read.tread,
            "one_go": read.yes_no,
            "shift": read.member(Shift),
            "request": read.yes_no,
            "counts": read.yes_no,
            "sign": read.text,
            "digs": read.yes_no,
            "cautions": read.texts,
            "milestone": read.text,
            "advice": read.text,
            "others": read.texts,
            "also_weather": read.texts,
            "wind_mph": read.amount,
            "paces": read.paces,
            "closes": read.tread,
            "reopens": read.texts,
        },
    ),
    "rule": Kind(
        precedence.Rule,
        "id",
        {
            "before": read.some,
            "after": read.some,
            "where": read.one_of(*PLACES),
            "why": read.text,
            "source": read.text,
            "relation": read.member(Relation),
            "wait": read.text,
            "hours": read.amount,
            "slots": read.whole,
            "at_most_hours": read.amount,
            "truth": read.whole,
            "also_truths": read.wholes,
            "before_nth": read.whole,
            "after_nth": read.whole,
            "expires": read.text,
            "unless": read.text,
            "gives_way": read.yes_no,
        },
    ),
    "caution": Kind(library.Caution, "key", {"text": read.text, "authority": read.text}),
    "notice": Kind(
        library.NoticeRule,
        "state",
        {
            "name": read.text,
            "least": read.whole,
            "unit": read.one_of("bd", "h"),
            "earliest": read.whole,
            "earliest_unit": read.one_of("bd", "d"),
            "life": read.whole,
            "life_unit": read.one_of("bd", "d"),
            "life_from": read.one_of("request", "due", "start"),
            "source": read.text,
            "cutoff": read.clock,
            "saturday": read.day_and_clock,
            "renew_bd": read.whole,
            "hand_dig_in": read.whole,
            "water_least": read.whole,
            "water_earliest": read.whole,
            "note": read.text,
        },
        absent={"earliest": None, "earliest_unit": "", "life": None, "life_unit": ""},
    ),
    "assembly": Kind(
        assemblies.Assembly,
        "key",
        {
            "name": read.text,
            "group": read.text,
            "asks": read.asks,
            "parts": read.parts,
            "source": read.text,
        },
    ),
    "dryout": Kind(
        facts.DryOut,
        "texture",
        {
            "bands": read.bands,
            "source": read.text,
            "cool_factor": read.amount,
            "shade_days": read.amount,
            "covered_factor": read.amount,
        },
    ),
    "soil": Kind(
        facts.Soil,
        "key",
        {
            "name": read.text,
            "texture": read.text,
            "lb_ft3": read.span,
            "swell": read.span,
            "swell_use": read.number,
            "shrink": read.span,
            "source": read.text,
        },
    ),
    "tree": Kind(
        facts.BoxTree,
        "key",
        {
            "name": read.text,
            "weight_lb": read.span,
            "box_ft3": read.span,
            "hole_ft": read.amount,
            "moved_by": read.text,
            "passage": read.length,
            "source": read.text,
        },
        absent={"passage": None},
    ),
    "carrier": Kind(
        facts.Carrier,
        "key",
        {
            "name": read.text,
            "load_ft3": read.span,
            "load_lb": read.span,
            "out_ft_min": read.amount,
            "back_ft_min": read.amount,
            "ends_min": read.amount,
            "passage": read.length,
            "source": read.text,
            "concrete_ft3": read.amount,
            "concrete_ends_min": read.amount,
            "minutes_per_hour": read.amount,
        },
    ),
    "load": Kind(
        facts.SlabLoad,
        "key",
        {
            "name": read.text,
            "tread": read.tread,
            "hours": read.amount,
            "strength": read.amount,
            "source": read.text,
            "cool_hours": read.amount,
            "max_lb": read.whole,
            "note": read.text,
        },
        absent={"hours": None, "strength": None},
    ),
    "placing": Kind(
        facts.Placing,
        "key",
        {
            "name": read.text,
            "pace": read.rate,
            "per_person": read.yes_no,
            "people": read.head_count,
            "needs": read.text,
            "source": read.text,
            "passage": read.length,
            "reach_ft": read.whole,
        },
    ),
    "cover": Kind(
        facts.WireCover,
        "key",
        {"name": read.text, "cover": read.length, "source": read.text},
    ),
    "gate": Kind(facts.Gate, "", {"width": read.length, "passes": read.text, "source": read.text}),
}
"""Every section of a library file; a row is ``[section.key]``."""
