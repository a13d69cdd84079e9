"""Links by hand and works put earlier or later: kept, planned, and told of what stands against them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from jobs.models import Activity, HistoryEntry, Link
from jobs.services.by_hand.ties import IN_ORDER
from jobs.services.pages.activities import read_activities
from tests.hands import SLUG, act, again, only, placed, tie
from tests.office import NOW, published_plan, signed_in

pytestmark = pytest.mark.django_db


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

    def test_pressed_as_it_stands_nothing_is_tied(self, job):
        """No work is chosen until somebody chooses one."""
        path = only(job, "dg-path")
        page = signed_in().get(reverse("by-hand", args=[SLUG, path.uid]))
        first = next(iter(page.context["ties"]["other"].field.choices))
        answer = tie(path, path, other=first[0])
        assert (answer.status_code, "fill it in or choose one" in answer.content.decode()) == (
            422,
            True,
        )
        assert not Link.objects.filter(rule="").exists()

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
            ({"other": "nobody"}, "none of the choices"),
            ({"relation": "sometime"}, "none of the choices"),
            ({"wait": "-1"}, "At least 0."),
            ({"wait": "999999"}, "At most 400."),
            ({"wait": "5", "most": "2"}, "less than the wait"),
            ({"why": "x" * 201}, "At most 200"),
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


class TestTyped:
    """What was typed of a tie or a rule that is refused is still in the form."""

    WHY = "there is no old base"

    def reason_kept(self, answer):
        """Return True where the reason stands in a field that can be seen, in a form that goes to the work's page."""
        page = answer.content.decode()
        assert answer.status_code == 422
        assert 'type="hidden" name="reason"' not in page
        return f'value="{self.WHY}"' in page

    def test_of_a_tie_with_a_slip_beside_it(self, job):
        """Another field is wrong: reason and chosen rules are there to be sent again."""
        path, clean = only(job, "dg-path"), only(job, "clean-up")
        chosen = [row.ends for row in tie(path, clean).context["against"].rows if row.by_rule]
        answer = tie(path, clean, lifts=chosen, reason=self.WHY, wait="-1")
        assert self.reason_kept(answer)
        assert [row.ends for row in answer.context["chosen"]] == chosen
        page = answer.content.decode()
        assert page.count('name="lifts"') == page.count(" checked>") == len(chosen)
        assert not Link.objects.filter(lifted=True).exists()

    def test_of_a_tie_that_cannot_be_kept_with_other_wishes(self, job):
        """A pin stands against it: nothing is lifted, nothing that was typed is gone."""
        path, shrubs = only(job, "dg-path"), only(job, "plant-shrubs")
        act(shrubs, does="pin", not_after="2026-06-30", not_before="", only_crew="")
        answer = tie(shrubs, path, wait="60", reason=self.WHY)
        assert self.reason_kept(answer)
        assert "These cannot all be kept" in answer.context["ties"].errors["other"][0]

    def test_of_a_ring_that_is_not_open_yet(self, job):
        """A rule that stands up behind the lifted one is asked for; what was chosen before stays chosen."""
        path, clean = only(job, "dg-path"), only(job, "clean-up")
        chosen = [row.ends for row in tie(path, clean).context["against"].rows if row.by_rule]
        answer = tie(path, clean, lifts=chosen, reason=self.WHY)
        assert self.reason_kept(answer)
        kept = [row.ends for row in answer.context["chosen"]]
        assert kept == chosen
        assert {row.ends for row in answer.context["open_yet"]}.isdisjoint(kept)

    def test_of_a_rule_that_may_not_be_lifted(self, job):
        """The law's notice: said beside the reason, and other forms still go to the work's page."""
        link = job.links.filter(wait="W-locate")[0]
        told = {"does": "lift", "back": link.after.uid, "reason": self.WHY}
        answer = signed_in().post(reverse("change-link", args=[SLUG, link.pk]), told)
        assert self.reason_kept(answer)
        page = answer.content.decode()
        assert "the law asks for this notice before digging" in page
        home = reverse("by-hand", args=[SLUG, link.after.uid])
        assert page.count(f'method="post" action="{home}"') >= 3

    def test_of_a_rule_that_is_gone_meanwhile(self, job):
        """Told back in words on the page as it is now; without a reason it is an address of nothing."""
        link = job.links.exclude(rule="")[0]
        address = reverse("change-link", args=[SLUG, link.pk])
        told = {"does": "lift", "back": link.after.uid}
        link.delete()
        page = signed_in().post(address, told | {"reason": self.WHY}, follow=True).content.decode()
        assert f"You wrote: {self.WHY}" in page
        assert signed_in().post(address, told).status_code == 404


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
