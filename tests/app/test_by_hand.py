"""Working by hand: works of one's own, parts, pins and links outlive every expansion and are planned."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from crews.models import Role
from jobs.models import Activity, HistoryEntry, Link
from jobs.services.by_hand.ties import IN_ORDER
from jobs.services.by_hand.works import HandWork, add_work, change_work
from jobs.services.files.export_job import export_job
from jobs.services.files.load_job import load_job
from jobs.services.history import Who
from jobs.services.pages.activities import read_activities
from jobs.services.planning.plan_jobs import plan_jobs
from jobs.services.scope.takeoff import expand_job
from tests.office import NOW, SMALL_YARD, open_office, published_plan, signed_in, small_job

pytestmark = pytest.mark.django_db
SLUG = "3-finch-street"


@pytest.fixture
def job(db):
    """A front path and a bed, with a company that can build them."""
    open_office()
    return small_job()


def only(job, template):
    """The one activity of a template that stands."""
    return job.activities.get(template=template, retired=False)


def act(row, **told):
    """Post what is done to one work."""
    told = {"revision": str(Activity.objects.get(pk=row.pk).revision), **told}
    return signed_in().post(reverse("by-hand", args=[SLUG, row.uid]), told)


def tie(row, other, /, **told):
    """Post a link: this work after another one, unless told otherwise."""
    usual = {
        "does": "tie", "way": "after", "other": other.uid, "relation": "finish-to-start",
        "wait": "0", "unit": "days", "most": "", "most_unit": "days", "why": "", "reason": "",
    }  # fmt: skip
    return act(row, **(usual | told))


def again(job):
    """Expand the job again."""
    expand_job(job, by="test", now=NOW)


def placed(plan):
    """Start and finish of every work of a plan."""
    return {row.activity_id: (row.start, row.finish) for row in plan.rows.all()}


class TestOwnWork:
    """For what the library does not know."""

    WORK = {
        "name": "Hang the gate",
        "where": "front-path",
        "skill": "labour",
        "days": "0.5",
        "people": "2",
    }

    def add(self, **told):
        """Post a work of one's own."""
        told = {"once": "ab" * 16, **self.WORK, **told}
        return signed_in().post(reverse("new-work", args=[SLUG]), told)

    def test_it_is_added_planned_and_kept(self, job):
        """Between the first walk and the clean-up, whatever is expanded again."""
        assert self.add().status_code == 302
        row = job.activities.get(template="")
        assert (row.key, row.name, row.days, row.people) == (
            f"hand/{'ab' * 16}", "Hang the gate", Decimal("0.5"), 2,
        )  # fmt: skip
        again(job)
        row.refresh_from_db()
        assert row.retired is False
        at = placed(published_plan())
        walk, clean = only(job, "start-walk"), only(job, "clean-up")
        assert at[walk.pk][1] <= at[row.pk][0] < at[row.pk][1] <= at[clean.pk][0]

    def test_sent_twice_is_one_work(self, job):
        """A double click."""
        assert self.add().url == self.add().url
        assert job.activities.filter(template="").count() == 1

    @pytest.mark.parametrize(
        ("told", "field", "words"),
        [
            ({"name": ""}, "name", "required"),
            ({"name": "x" * 106}, "name", "at most 105"),
            ({"where": "attic"}, "where", "valid choice"),
            ({"skill": "wizardry"}, "skill", "valid choice"),
            ({"days": "0"}, "days", "greater than or equal to 0.25"),
            ({"days": "1e9"}, "days", "less than or equal to 60"),
            ({"days": "NaN"}, "days", "number"),
            ({"people": "5"}, "people", "No crew has so many who can do labour: 4"),
            ({"people": "<i>"}, "people", "whole number"),
        ],
    )
    def test_nonsense_is_told_beside_its_field(self, job, told, field, words):
        """With 422, and nothing is added."""
        answer = self.add(**told)
        wrong = answer.content.decode().partition(f'id="id_{field}_wrong">')[2].partition("</p>")[0]
        assert (answer.status_code, words in wrong) == (422, True)
        assert not job.activities.filter(template="").exists()

    def test_it_is_changed_once(self, job):
        """The second of two editors is told."""
        self.add()
        row = job.activities.get(template="")
        client, address = signed_in(), reverse("change-work", args=[SLUG, row.uid])
        told = self.WORK | {"days": "2", "revision": str(row.revision)}
        client.post(address, told)
        page = client.post(address, told | {"days": "3"}, follow=True).content.decode()
        row.refresh_from_db()
        assert (row.days, "nothing was overwritten" in page) == (2, True)

    def test_it_is_taken_out_and_stays_in_the_record_once_planned(self, job):
        """Deleted before anybody saw it in a plan, retired after."""
        self.add()
        row = job.activities.get(template="")
        published_plan()
        signed_in().post(reverse("remove-work", args=[SLUG, row.uid]))
        row.refresh_from_db()
        assert row.retired is True
        again(job)
        row.refresh_from_db()
        assert row.retired is True
        assert plan_jobs(now=NOW, by="test").plan is not None

    def test_outside_people_are_a_calendar_only(self, job):
        """No crew is needed for them."""
        self.add(skill="outside", people="9")
        row = job.activities.get(template="")
        plan = published_plan()
        assert plan.rows.get(activity=row).crew is None


class TestSplit:
    """One work in parts, one after the other."""

    @pytest.fixture
    def path(self, job):
        """Laying the path, made longer so that there is something to split."""
        item = job.items.get(assembly="stone-path")
        item.answers = {"area": "1800"}
        item.save()
        again(job)
        return only(job, "dg-path")

    def test_shares_add_up_and_rules_go_through_the_parts(self, job, path):
        """Four days become one and three; what came after comes after the last part."""
        followers = set(path.links_out.values_list("after__template", flat=True))
        assert act(path, does="split", share="25").status_code == 302
        path.refresh_from_db()
        part = path.parts.get()
        assert (path.days, part.days) == (1, 3)
        assert (path.name, part.name) == (
            "Lay crushed-stone path, front path (1 of 2)",
            "Lay crushed-stone path, front path (2 of 2)",
        )
        assert set(part.links_out.values_list("after__template", flat=True)) == followers
        assert list(path.links_out.values_list("after", "rule")) == [(part.pk, "split")]

    def test_parts_outlive_an_expansion_and_follow_the_quantity(self, job, path):
        """Half the area, half of each part; the same rows."""
        act(path, does="split", share="25")
        part = path.parts.get()
        item = job.items.get(assembly="stone-path")
        item.answers = {"area": "900"}
        item.save()
        again(job)
        path.refresh_from_db()
        part.refresh_from_db()
        assert (path.days, part.days, part.retired) == (Decimal("0.5"), Decimal("1.5"), False)

    def test_parts_are_planned_one_after_the_other(self, job, path):
        """By the judge's leave."""
        act(path, does="split", share="50")
        part = path.parts.get()
        at = placed(published_plan())
        assert at[path.pk][1] <= at[part.pk][0]

    def test_a_part_of_a_part_and_back_again(self, job, path):
        """Three parts in order; put together again they are the whole."""
        whole = path.days
        act(path, does="split", share="50")
        act(path, does="split", share="50")
        path.refresh_from_db()
        second, third = sorted(path.parts.all(), key=lambda part: part.detail["part"])
        assert [path.share, second.share, third.share] == [25, 25, 50]
        assert third.name.endswith("(3 of 3)")
        for part in (third, second):
            signed_in().post(reverse("remove-work", args=[SLUG, part.uid]))
        path.refresh_from_db()
        assert (path.share, path.days, path.parts.count()) == (100, whole, 0)
        assert path.name == "Lay crushed-stone path, front path"

    def test_what_is_taken_out_takes_its_parts_along_and_brings_them_back(self, job, path):
        """Planned, so retired; the same two rows when the path comes back."""
        act(path, does="split", share="50")
        published_plan()
        item = job.items.get(assembly="stone-path")
        uid, answers, zone = item.uid, item.answers, item.zone
        item.delete()
        again(job)
        assert set(job.activities.filter(template="dg-path").values_list("retired", flat=True)) == {
            True
        }
        job.items.create(uid=uid, assembly="stone-path", zone=zone, answers=answers)
        again(job)
        rows = job.activities.filter(template="dg-path", retired=False)
        assert sorted(row.share for row in rows) == [50, 50]

    @pytest.mark.parametrize(
        ("template", "told", "words"),
        [
            ("dg-path", {"share": "0"}, "greater than or equal to 5"),
            ("dg-path", {"share": "100"}, "less than or equal to 95"),
            ("dg-path", {"share": "half"}, "whole number"),
            ("locate-notice", {"share": "50"}, "is not done by a crew of ours"),
        ],
    )
    def test_what_cannot_be_split_is_told(self, job, path, template, told, words):
        """With 422, and it stays whole."""
        answer = act(only(job, template), does="split", **told)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert not Activity.objects.filter(part_of__isnull=False).exists()

    def test_a_part_too_small_is_told(self, job, path):
        """Five percent of five percent is nobody's morning."""
        act(path, does="split", share="5")
        path.refresh_from_db()
        assert "less than a twentieth" in act(path, does="split", share="50").content.decode()


class TestSplitOwn:
    """A work of one's own is split like any other."""

    @pytest.fixture
    def gate(self, job):
        """Four days of hanging a gate."""
        work = HandWork("Hang the gate", job.zones.get(slug="bed"), "labour", Decimal(4), 2)
        return add_work(job, work, Who("test", NOW))

    def test_its_days_are_shared_and_its_parts_follow_each_other(self, job, gate):
        """A quarter first: one day and three; the clean-up waits for the last part."""
        act(gate, does="split", share="25")
        first, rest = job.activities.filter(name__startswith="Hang the gate").order_by(
            "detail__part"
        )
        assert [(row.name, row.days) for row in (first, rest)] == [
            ("Hang the gate (1 of 2)", 1), ("Hang the gate (2 of 2)", 3),
        ]  # fmt: skip
        assert first.uid == gate.uid
        again(job)
        ends = {link.after.template for link in rest.links_out.all()}
        assert "clean-up" in ends
        plan = placed(published_plan())
        assert plan[first.pk][1] <= plan[rest.pk][0]

    def test_a_change_of_the_whole_goes_to_its_parts(self, job, gate):
        """Eight days now, renamed: two and six."""
        act(gate, does="split", share="25")
        gate.refresh_from_db()
        work = HandWork("Build the gate", gate.zone, "labour", Decimal(8), 2)
        change_work(gate, work, Who("test", NOW), revision=gate.revision)
        rows = job.activities.filter(name__startswith="Build the gate").order_by("detail__part")
        assert [row.days for row in rows] == [2, 6]

    def test_put_together_again_it_is_what_it_was(self, job, gate):
        """Name and days, and no part is left."""
        act(gate, does="split", share="25")
        part = job.activities.get(part_of=gate)
        signed_in().post(reverse("remove-work", args=[SLUG, part.uid]))
        gate.refresh_from_db()
        assert (gate.name, gate.days, gate.share) == ("Hang the gate", 4, 100)
        assert job.activities.filter(part_of=gate, retired=False).count() == 0

    def test_taken_out_it_takes_its_parts_along(self, job, gate):
        """Planned or not."""
        act(gate, does="split", share="50")
        published_plan()
        signed_in().post(reverse("remove-work", args=[SLUG, gate.uid]))
        rows = job.activities.filter(name__startswith="Hang the gate")
        assert [row.retired for row in rows] == [True, True]

    def test_out_and_in_again_it_is_the_same(self, job, gate):
        """Through a job file."""
        act(gate, does="split", share="25")
        text = export_job(job)
        before = list(job.activities.values_list("uid", "name", "days", "share").order_by("uid"))
        again_job = load_job(text, by="test", now=NOW)
        after = again_job.activities.values_list("uid", "name", "days", "share").order_by("uid")
        assert list(after) == before


class TestPins:
    """Not before, not after."""

    def test_a_pin_is_planned_by_and_outlives_an_expansion(self, job):
        """The path not before Monday 13 July."""
        path = only(job, "dg-path")
        act(path, does="pin", not_before="2026-07-13", not_after="")
        again(job)
        start = placed(published_plan())[path.pk][0]
        assert start.date().isoformat() >= "2026-07-13"

    def test_days_in_the_wrong_order_are_told(self, job):
        """And nothing is pinned."""
        path = only(job, "dg-path")
        answer = act(path, does="pin", not_before="2026-07-13", not_after="2026-07-12")
        assert (answer.status_code, "swap the two" in answer.content.decode()) == (422, True)
        assert only(job, "dg-path").not_before is None

    def test_the_second_of_two_editors_is_told(self, job):
        """Nothing is overwritten."""
        path = only(job, "dg-path")
        act(path, does="pin", not_before="2026-07-13", not_after="")
        stale = str(path.revision)
        act(path, does="pin", not_before="2026-08-13", not_after="", revision=stale)
        assert only(job, "dg-path").not_before.isoformat() == "2026-07-13"


class TestTies:
    """Links by hand, and rules that stand against them."""

    def test_a_link_with_a_wait_is_kept_and_planned(self, job):
        """Shrubs two days after the path, at most ten."""
        path, shrubs = only(job, "dg-path"), only(job, "plant-shrubs")
        answer = tie(shrubs, path, wait="2", most="10", why="dust settles")
        assert answer.status_code == 302
        again(job)
        link = Link.objects.get(rule="")
        assert (link.lag, link.clock, link.at_most) == (2880, "elapsed", 14400)
        at = placed(published_plan())
        assert 2 <= (at[shrubs.pk][0] - at[path.pk][1]).total_seconds() / 86400 <= 10
        page = signed_in().get(reverse("activity", args=[SLUG, shrubs.uid])).content.decode()
        assert "By hand: dust settles." in page

    def test_said_twice_it_is_tied_once(self, job):
        """And the later word holds."""
        path, shrubs = only(job, "dg-path"), only(job, "plant-shrubs")
        tie(shrubs, path, wait="2")
        tie(shrubs, path, wait="3")
        assert Link.objects.get(rule="").lag == 3 * 1440

    def test_a_ring_is_told_with_its_rules(self, job):
        """The clean-up before the path: every rule between them is named, and nothing is tied."""
        path, clean = only(job, "dg-path"), only(job, "clean-up")
        answer = tie(path, clean)
        page = answer.content.decode()
        assert (answer.status_code, "wait for each other in a ring" in page) == (422, True)
        assert 'name="lifts"' in page
        assert not Link.objects.filter(rule="").exists()

    def test_a_rule_is_lifted_with_a_reason_that_stays(self, job):
        """As often as a rule stands up behind it, until the ring is open."""
        path, clean = only(job, "dg-path"), only(job, "clean-up")
        lifts: list[str] = []
        for _ in range(6):
            answer = tie(path, clean, lifts=lifts, reason="the owner lays it himself")
            if answer.status_code == 302:
                break
            lifts += [row.ends for row in answer.context["against"].rows if row.by_rule]
        assert answer.status_code == 302
        again(job)
        lifted = Link.objects.filter(lifted=True)
        assert {link.reason for link in lifted} == {"the owner lays it himself"}
        page = signed_in().get(reverse("activities", args=[SLUG])).content.decode()
        assert "a rule that does not hold here" in page
        assert "the owner lays it himself (Owner)" in page
        at = placed(published_plan())
        assert at[clean.pk][1] <= at[path.pk][0]

    def test_without_a_reason_nothing_is_lifted(self, job):
        """Ticking alone is not enough."""
        path, clean = only(job, "dg-path"), only(job, "clean-up")
        rows = tie(path, clean).context["against"].rows
        answer = tie(path, clean, lifts=[row.ends for row in rows], reason=" ")
        assert answer.status_code == 422
        assert not Link.objects.filter(lifted=True).exists()

    def test_a_shorter_wait_than_the_rules_needs_a_reason_and_can_be_taken_back(self, job):
        """The rule is named beside it, and holds again once it is untied."""
        link = job.links.exclude(wait="").filter(clock="elapsed", lag__gt=1440)[0]
        answer = tie(link.after, link.before, relation=link.relation, wait="1", unit="hours")
        assert "A rule asks for more" in answer.content.decode()
        tie(
            link.after,
            link.before,
            relation=link.relation,
            wait="1",
            unit="hours",
            reason="told so",
        )
        mine = Link.objects.get(rule="")
        assert (mine.lag, mine.why[0], mine.why[1]["why"]) == (60, "by-hand-against", "told so")
        signed_in().post(reverse("change-link", args=[SLUG, mine.pk]), {"does": "untie"})
        back = job.links.get(before=link.before, after=link.after, relation=link.relation)
        assert (back.rule, back.lag) == (link.rule, link.lag)

    def test_a_rule_is_lifted_and_holds_again(self, job):
        """On the page of a work; without a reason it is refused."""
        path = only(job, "dg-path")
        link = path.links_in.exclude(rule="")[0]
        address = reverse("change-link", args=[SLUG, link.pk])
        told = {"does": "lift", "back": path.uid}
        assert "nobody said why" in signed_in().post(address, told, follow=True).content.decode()
        signed_in().post(address, told | {"reason": "there is no old base"})
        again(job)
        kept = Link.objects.get(lifted=True)
        assert (kept.rule, kept.reason, kept.by) == (link.rule, "there is no old base", "Owner")
        signed_in().post(address, {"does": "hold", "back": path.uid})
        assert not Link.objects.filter(lifted=True).exists()
        assert path.links_in.filter(rule=link.rule, before=link.before).exists()

    def test_what_the_law_asks_for_is_not_lifted(self, job):
        """The notice before digging stands, whatever the reason."""
        link = job.links.filter(wait="W-locate")[0]
        address = reverse("change-link", args=[SLUG, link.pk])
        told = {"does": "lift", "back": link.after.uid, "reason": "I know where they are"}
        page = signed_in().post(address, told, follow=True).content.decode()
        assert "the law asks for this notice before digging" in page
        shorter = tie(link.after, link.before, wait="1", unit="hours", reason="I know")
        assert "the law asks for this notice before digging" in shorter.content.decode()
        assert not Link.objects.filter(lifted=True).exists()
        assert not Link.objects.filter(rule="").exists()

    @pytest.mark.parametrize(
        ("told", "words"),
        [
            ({"other": "nobody"}, "valid choice"),
            ({"relation": "sometime"}, "valid choice"),
            ({"wait": "-1"}, "greater than or equal to 0"),
            ({"wait": "999999"}, "less than or equal to 400"),
            ({"wait": "5", "most": "2"}, "less than the wait"),
            ({"why": "x" * 201}, "at most 200"),
        ],
    )
    def test_nonsense_is_told(self, job, told, words):
        """With 422, and nothing is tied."""
        answer = tie(only(job, "plant-shrubs"), only(job, "dg-path"), **told)
        assert (answer.status_code, words in answer.content.decode()) == (422, True)
        assert not Link.objects.filter(rule="").exists()

    def test_every_change_is_in_the_record(self, job):
        """Who, what, before and after."""
        tie(only(job, "plant-shrubs"), only(job, "dg-path"))
        entry = HistoryEntry.objects.latest("pk")
        assert (entry.what, entry.by) == ("tied by hand", "Owner")


class TestOrder:
    """Earlier and later, from the list."""

    def test_the_list_offers_the_neighbours_and_moves_a_work(self, job):
        """The path after the shrubs, then before them: one tie, never two against each other."""
        published_plan()
        path, shrubs = only(job, "dg-path"), only(job, "plant-shrubs")
        page = signed_in().get(reverse("activities", args=[SLUG])).content.decode()
        assert 'name="order" value="before ' in page
        answer = act(path, order=f"after {shrubs.uid}", back="activities")
        assert answer.url == reverse("activities", args=[SLUG])
        [link] = job.links.filter(rule="")
        assert (link.before, link.after, link.lag) == (shrubs, path, 0)
        act(path, order=f"before {shrubs.uid}")
        [link] = job.links.filter(rule="")
        assert (link.before, link.after) == (path, shrubs)
        plan = placed(published_plan())
        assert plan[path.pk][1] <= plan[shrubs.pk][0]

    def test_the_rule_in_the_way_is_told_and_gives_way_to_a_reason_only(self, job):
        """The path before its own base: told with its sentence; lifted, it stays visible."""
        path, base = only(job, "dg-path"), only(job, "spread-base")
        refused = act(path, order=f"before {base.uid}", back="activities")
        page = refused.content.decode()
        assert refused.status_code == 422
        assert "These would wait for each other in a ring" in page
        assert job.links.filter(rule="").count() == 0
        lifts = [
            f"{row.before_id}-{row.after_id}-{row.relation}"
            for row in job.links.filter(before=base, after=path)
        ]
        tie(
            path, base, way="before", why=IN_ORDER, lifts=lifts, reason="stone laid on the old base"
        )
        assert job.links.get(lifted=True, before=base, after=path).reason == (
            "stone laid on the old base"
        )
        listed = signed_in().get(reverse("activities", args=[SLUG])).content.decode()
        assert "stone laid on the old base" in listed

    @pytest.mark.parametrize(
        "order", ["before nobody", "sideways x", "before", "after " + "f" * 5000]
    )
    def test_nonsense_moves_nothing(self, job, order):
        """Told or passed over; nothing is tied."""
        answer = act(only(job, "dg-path"), order=order)
        assert answer.status_code in (200, 422)
        assert job.links.filter(rule="").count() == 0

    def test_paper_and_what_is_begun_are_not_moved(self, job):
        """Neither offered for themselves nor as a neighbour."""
        path = only(job, "dg-path")
        Activity.objects.filter(pk=path.pk).update(started_at=NOW, done_share=50)
        rows = {row.uid: row for row in read_activities(job).rows}
        assert (rows[path.uid].earlier, rows[path.uid].later) == (None, None)
        sign_off = rows[only(job, "design-sign-off").uid]
        assert (sign_off.earlier, sign_off.later) == (None, None)
        told = {n.uid for row in rows.values() for n in (row.earlier, row.later) if n}
        assert path.uid not in told


class TestAccess:
    """To look is for all, to change for those who may."""

    @pytest.mark.parametrize("role", [Role.LEAD, Role.VIEWER])
    def test_others_may_not(self, job, role):
        """No page of changes, no post."""
        client, row = signed_in(role), only(job, "dg-path")
        link = row.links_in.all()[0]
        refused = [
            client.get(reverse("new-work", args=[SLUG])),
            client.get(reverse("by-hand", args=[SLUG, row.uid])),
            client.post(reverse("by-hand", args=[SLUG, row.uid]), {"does": "pin"}),
            client.post(reverse("remove-work", args=[SLUG, row.uid])),
            client.post(reverse("change-link", args=[SLUG, link.pk]), {"does": "untie"}),
        ]
        assert [answer.status_code for answer in refused] == [403] * 5

    def test_links_of_other_jobs_are_not_there(self, job):
        """An address with the number of another yard's link is nobody's."""
        other = load_job(SMALL_YARD.replace("3 Finch", "5 Finch"), by="test", now=NOW)
        link = other.links.all()[0]
        answer = signed_in().post(reverse("change-link", args=[SLUG, link.pk]), {"does": "untie"})
        assert answer.status_code == 404
