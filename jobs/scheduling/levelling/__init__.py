"""The one importer of ortools: parts of plans, and the classic problems solvers are measured by."""

from .parts import solve_part
from .project import Outcome, solve_project

__all__ = ["Outcome", "solve_part", "solve_project"]
