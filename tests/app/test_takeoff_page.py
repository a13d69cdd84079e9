"""What is to be built: what stands in its way, what it unfolds into, when it could be done."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.models import Activity, Job, Zone
from jobs.services.numbers.library import current_library
from jobs.services.pages.measures import measure
from jobs.services.telling.yardstick import Yardstick
from tests.office import NOW, SMALL_YARD, small_job

from .test_import_job import upload

pytestmark = pytest.mark.django_db

BUILT = [key for key, one in current_library().assemblies.items() if one.group != "always"]


class TestTakeoffPage:
    """What is assumed and what stands in the way is told where it is built."""

    def test_a_machine_that_does_not_get_in_is_told_with_ways_round(self, owner):
        """A gate of 30 inches before a bed with boulders."""
        narrow = SMALL_YARD.replace('"4 ft"', '"30 in"')
        narrow += '\n[[build]]\nwhat = "boulders"\nwhere = "Bed"\ncount = "4"\n'
        upload(owner, narrow)
        page = owner.get(reverse("job", args=["3-finch-street"])).content.decode()
        assert "In the way" in page
        assert "does not get through Front gate" in page
        assert "a crane over the house" in page.replace("Ways", "ways")

    def test_the_first_finish_is_reckoned_alone(self, owner):
        """As a part for htmx, as a page without it."""
        job = small_job()
        address = reverse("first-finish", args=[job.slug])
        part = owner.get(address, headers={"HX-Request": "true", "HX-Target": "first-finish"})
        assert part.content.decode().strip().startswith('<section class="box" id="first-finish">')
        assert "done about" in owner.get(address).content.decode()

    def test_the_first_finish_knows_the_seasons_of_its_place(self, owner):
        """Without a position no month is shut, and that is said; a plan ends no sooner either way."""
        job = small_job()
        address = reverse("first-finish", args=[job.slug])
        Job.objects.filter(pk=job.pk).update(
            starts_on=date(2026, 12, 1), promised_on=None, latitude=None
        )
        bare = owner.get(address)
        Job.objects.filter(pk=job.pk).update(latitude="46.87", longitude="-96.80")
        cold = owner.get(address)
        assert "one with winter in it may end months later" in bare.content.decode()
        assert "the cold and hot months of Fargo" in cold.content.decode()
        assert bare.context["first"].reckoned.finish < cold.context["first"].reckoned.finish

    def test_of_a_job_under_way_no_first_finish_is_reckoned(self, owner):
        """It would count the work that is done, from today: the plan knows better."""
        job = small_job()
        Activity.objects.filter(pk=job.activities.all()[0].pk).update(started_at=NOW)
        page = owner.get(reverse("first-finish", args=[job.slug])).content.decode()
        assert "Work has begun here" in page
        assert "done about" not in page


@pytest.mark.parametrize("key", BUILT)
def test_the_small_drawing_of_an_item_fits(key):
    """Works side by side without a gap, none of them too thin to see, in the length there is."""
    library = current_library()
    asks = library.assemblies[key].asks
    answers = {ask.key: "6" for ask in asks if not ask.choices and ask.default in ("", "0")}
    zone = Zone(uid="bed", name="Bed")
    layers = measure(key, zone, answers, library, Yardstick(), "loam").layers
    assert layers
    assert [layer.x for layer in layers[1:]] == [layer.x + layer.width for layer in layers[:-1]]
    assert (layers[0].x, layers[-1].x + layers[-1].width <= 240) == (0, True)
    assert min(layer.width for layer in layers) >= 8


@pytest.mark.parametrize(("soil", "loose"), [("loam", "13.0 yd³"), ("clay", "13.5 yd³")])
def test_what_is_hauled_away_is_as_loose_as_the_yards_own_soil(soil, loose):
    """420 ft2 dug 8 in deep are 10.37 bank yd3: a quarter more of loam, three tenths more of clay."""
    answers = {"area": "420", "dig": "8", "thickness": "4", "joints": "10"}
    zone = Zone(uid="bed", name="Bed")
    told = measure("concrete-slab", zone, answers, current_library(), Yardstick(), soil)
    assert [line.quantity for line in told.lines if line.name.startswith("Haul")] == [loose]


def test_a_work_that_comes_again_bears_its_number():
    """A slab too large for one pour: as its parts are called in the plan."""
    zone = Zone(uid="yard", name="Back yard", area_ft2=Decimal(1200))
    told = measure("concrete-slab", zone, {"area": "1200"}, current_library(), Yardstick(), "loam")
    pours = [line.name for line in told.lines if line.name.startswith("Pour")]
    assert pours == ["Pour and finish concrete", "Pour and finish concrete (2)"]


def test_the_lines_of_an_item_add_up_to_its_sum():
    """Five visits of two hours and a half day are an afternoon less than two days, not their pure work."""
    zone = Zone(uid="lawn", name="Lawn", area_ft2=Decimal(1200))
    told = measure("turf-kill", zone, {"area": "1200"}, current_library(), Yardstick(), "loam")
    own = [line.days for line in told.lines if line.name != "Water between sprays"]
    assert own == ["2 hours"] * 4 + ["half a day"]
    assert told.days == "1½ days"


@pytest.mark.parametrize(
    ("key", "answers", "notes"),
    [
        ("flagstone", {"area": "420"}, ("Flagstone 1½ in thick, before waste: 4.2 tons, at 160 lb/ft³.",)),
        (
            "concrete-slab",
            {"area": "420"},
            (
                "Stone base to order: 9.5 tons, or 6.5 yd³ loose.",
                "Concrete to order for the slab: 5.75 cubic yards, with a tenth for waste, rounded up to a quarter yard.",
                "Agree with the plant how old the concrete may be when it is placed, and have it in the order; until somebody does, reckon with 90 minutes. The ticket decides.",
                "Control joints for a slab this thick: 8 ft to 12 ft apart both ways, cut at least 1 in deep.",
            ),
        ),
        ("trees", {"box-36": "2"}, ("A tree in a 36-in box: 1,440 lb to 1,710 lb to lift, a hole 6 ft wide, 48 in of clear way. Ask the nursery for its weight.",)),
        (
            "power",
            {"wire": "80"},
            (
                "Spoil of a trench 6 by 18 in: 2.2 yd³ in the bank, heaped at least 2 ft from the edge.",
                "PVC conduit takes 18 in of soil over it: with 1-in conduit the trench is 19.3 in deep at least, its bed comes on top. The code in force and the licensed electrician decide.",
            ),
        ),
        ("gravel-drain", {"length": "100"}, ("Spoil of a trench 6 by 18 in: 2.8 yd³ in the bank, heaped at least 2 ft from the edge.",)),
    ],
)  # fmt: skip
def test_an_item_says_what_to_order_and_where_to_heap(key, answers, notes):
    """420 ft2 at 100 ft2 a ton (2,000 / (160 x 1.5 / 12)); 100 ft by 6 by 18 in is 2.78 yd3 (/ 144 / 27).

    420 ft2 by 4 in is 9.45 tons of base at 135 lb/ft3, and 5.19 yd3 of concrete, 5.70 with a tenth.
    Joints: 24 to 36 thicknesses; conduit 1.315 in outside under its cover (NEC 300.5); limits of age: C94-21.
    """
    library = current_library()
    asked = {ask.key: ask.default or "0" for ask in library.assemblies[key].asks} | answers
    assert (
        measure(key, Zone(uid="bed", name="Bed"), asked, library, Yardstick(), "loam").notes
        == notes
    )
