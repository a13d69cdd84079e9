"""Who does what next while a classic project is solved: decided by how far the bound is from the schedule."""

from __future__ import annotations

from time import monotonic

import pytest

from jobs.scheduling.search.project import Project
from jobs.services.planning.solve_project import Best, Hand, Role, Team, solve

TEN_LIFTS = Project("lifts", (2,) * 10, ((),) * 10, ((2,),) * 10, (3,))
"""Two hands of three each: one after the other, 20 in all, though the load alone would allow 14."""


class Ended:
    """Stands for a process and remembers that it was ended."""

    exitcode = 0

    def __init__(self) -> None:
        self.ended = False

    def terminate(self) -> None:
        """End it."""
        self.ended = True

    def join(self) -> None:
        """Nothing to wait for."""


class Asked(Team):
    """A team that remembers whom it was to begin."""

    def __init__(self, bound: int, roles: list[Role]) -> None:
        super().__init__(TEN_LIFTS, monotonic() + 60, seed=0)
        self.asked: list[Role] = []
        self.hands = {object(): Hand(Ended(), role) for role in roles}
        self.best.take(list(range(0, 20, 2)), bound)

    def begin(self, role: Role) -> None:
        """Only note it."""
        self.asked.append(role)


@pytest.mark.parametrize(
    ("bound", "beside", "role"),
    [
        (18, Role.PROVE, Role.PROVE_TURNED),
        (18, Role.PROVE_TURNED, Role.WALK),
        (17, Role.PROVE, Role.WALK),
    ],
)
def test_after_a_walk_comes_a_proof_from_the_other_end_if_one_may_be_hoped_for(bound, beside, role):
    """Of 20 a tenth is two: 18 is near, 17 is not; and two never prove from the same end."""
    assert Asked(bound, [beside]).next_role() is role


def test_a_proof_without_hope_is_given_up_for_a_walk():
    """The one who proves is ended, the one who walks goes on."""
    team = Asked(17, [Role.PROVE, Role.WALK])
    proving, walking = (hand.process for hand in team.hands.values())
    team.give_up_proofs()
    assert (proving.ended, walking.ended, team.asked) == (True, False, [Role.WALK])
    assert [hand.role for hand in team.hands.values()] == [Role.WALK]


def test_a_proof_within_reach_goes_on():
    """At 18 of 20."""
    team = Asked(18, [Role.PROVE, Role.WALK])
    team.give_up_proofs()
    assert (len(team.hands), team.asked) == (2, [])


def test_a_bound_never_raised_lets_all_try_their_luck_from_the_other_end():
    """A slot above the plain bound, 14 of load, both try; two slots above both walk."""
    for length, role in ((15, Role.PROVE_TURNED), (16, Role.WALK)):
        team = Asked(0, [Role.PROVE, Role.PROVE_TURNED])
        team.best.length = length
        assert team.next_role() is role
        team.give_up_proofs()
        kept = [hand.role for hand in team.hands.values()]
        assert sorted([*kept, *team.asked], key=str) == [role, role]


def test_what_is_worse_is_not_kept():
    """Neither a longer schedule nor a lower bound."""
    best = Best(TEN_LIFTS)
    best.take(list(range(0, 20, 2)), 16)
    best.take(list(range(0, 30, 3)), 15)
    assert (best.length, best.bound, best.proven) == (20, 16, False)
    best.take(None, 20)
    assert best.proven


def test_a_project_whose_load_says_too_little_is_proven_by_several_processes():
    """20, by who proves, whatever who walks does."""
    solved = solve(TEN_LIFTS, limit=20, workers=2, seed=0)
    assert (solved.makespan, solved.bound) == (20, 20)
