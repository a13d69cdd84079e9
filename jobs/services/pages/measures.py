"""What an item would unfold into, reckoned while it is typed: amounts, days, a small drawing."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from jobs.services.numbers.library import current_library
from jobs.services.telling.speech import spoken_days
from jobs.services.telling.words import say
from jobs.trade.durations import SLOTS_A_DAY, slots_for
from jobs.trade.errors import TradeError
from jobs.trade.orders import Asked, orders
from jobs.trade.scope import Item, ZoneIn
from jobs.trade.takeoff import check_answers, measure_item
from jobs.trade.unfold import number_told
from jobs.trade.work import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from jobs import models
    from jobs.services.telling.yardstick import Yardstick
    from jobs.trade.library import Library
    from jobs.trade.takeoff import Measured

STRIP, NARROWEST = 240, 8
"""Length of the small drawing of an item, and of the shortest work in it."""
PEOPLE = "ink"
"""Material of what leaves nothing behind: calls, inspections."""


class MeasuredLine(NamedTuple):
    """One activity of an item as the form shows it."""

    name: str
    quantity: str
    days: str
    people: int


class Layer(NamedTuple):
    """A piece of the small drawing of an item: where, how wide, of what material."""

    x: int
    width: int
    material: str


@dataclass(frozen=True, slots=True)
class Measures:
    """What an item unfolds into, or why it cannot."""

    lines: tuple[MeasuredLine, ...] = ()
    layers: tuple[Layer, ...] = ()
    days: str = ""
    reason: str = ""
    remedy: str = ""
    notes: tuple[str, ...] = ()


def measure(
    assembly: str,
    zone: models.Zone,
    answers: Mapping[str, str],
    library: Library,
    stick: Yardstick,
    soil: str,
) -> Measures:
    """Return what an item would unfold into in a yard of some soil: live, with nothing stored."""
    item = Item("form", assembly, zone.uid, answers)
    place = ZoneIn(zone.uid, zone.name, zone.area_ft2, zone.whole)
    try:
        measured = measure_item(item, place, library, library.soils.get(soil))
    except TradeError as error:
        return Measures(reason=error.reason, remedy=error.remedy)
    return Measures(
        tuple(_line(one, stick) for one in measured),
        _layers(measured),
        _total(measured),
        notes=tuple(_notes(item, place, measured, library, stick)),
    )


def _notes(
    item: Item, place: ZoneIn, measured: Iterable[Measured], library: Library, stick: Yardstick
) -> Iterator[str]:
    """What to order and where to put it, reckoned from the amounts of an item."""
    amounts = check_answers(library.assemblies[item.assembly], item.answers, place).amounts
    for order in orders(measured, Asked(amounts, library)):
        told = {
            name: stick.quantity(amount, unit) if unit else f"{amount.normalize():f}"
            for name, (amount, unit) in order.amounts.items()
        }
        yield say(Sentence(order.key, told))


def _line(one: Measured, stick: Yardstick) -> MeasuredLine:
    kind = current_library().crews.get(one.template.crew)
    return MeasuredLine(
        one.template.name + number_told(one.template, one.ordinal),
        stick.quantity(one.quantity.amount, one.quantity.unit),
        spoken_days(Decimal(slots_for(one.spread.typical)) / SLOTS_A_DAY),
        kind.usual if kind else one.template.least,
    )


def _layers(measured: Iterable[Measured]) -> tuple[Layer, ...]:
    """Draw the works of an item side by side, each as wide as it takes long, in whole units."""
    ours = [one for one in measured if one.template.material != PEOPLE]
    days = sum((one.spread.typical for one in ours), Decimal(0)) or Decimal(1)
    least = min(NARROWEST, STRIP // max(1, len(ours)))
    spare, x, layers = STRIP - least * len(ours), 0, []
    for one in ours:
        width = least + int(spare * one.spread.typical / days)
        layers.append(Layer(x, width, one.template.material))
        x += width
    return tuple(layers)


def _total(measured: Iterable[Measured]) -> str:
    """Add up what each work takes in the plan, so that the lines come to the sum below them."""
    outside = {key for key, crew in current_library().crews.items() if crew.outside}
    slots = [slots_for(m.spread.typical) for m in measured if m.template.crew not in outside]
    return spoken_days(Decimal(sum(slots)) / SLOTS_A_DAY) if slots else ""
