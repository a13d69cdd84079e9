"""The words of the record: what was done, and what each fact that is kept of it is called.

Braces hold facts of the entry; ``it`` is the whole of an entry that keeps one text only. A fact named in the sentence is not
told a second time beside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from jobs import models

if TYPE_CHECKING:
    from collections.abc import Mapping

SAID: Mapping[str, str] = {
    "plan published": "published a plan",
    "plan undone": "undid the plan on phones: plan {it} stands now",
    "message sent": "sent a message to {to}: {subject}",
    "evening summary": "set when the evening summary goes out: {sent}",
    "evening summary sent": "sent the evening summary: {messages}",
    "job made": "made the job {name}",
    "job deleted": "deleted a job that never began, of {works} works",
    "owner forgotten": "had the owner forgotten; the figures stay",
    "job loaded": "loaded the job {it} from a file",
    "yard changed": "changed the yard",
    "where it stands": "set where the job stands: {stage}",
    "promised": "promised the owner {promise}",
    "marks called for again": "called for utility marks again",
    "gate code": "changed the gate code: {it}",
    "homeowner link made": "made an address for the homeowner",
    "numbers taken": "had the job reckoned with the newest numbers",
    "own figure set": "set a figure of our own",
    "own figure reset": "went back to the library's figure",
    "item added": "added {what}, {where}",
    "item changed": "changed {what}, {where}",
    "item removed": "took out {what}, {where}",
    "climate place chosen": "chose whose climate the yard goes by: {it}",
    "climate record loaded": "loaded a daily weather record: {it}",
    "climate record taken out": "took the daily weather record out: the yard goes by {it}",
    "engineer's release": "kept an engineer's release of {what}: {allows}",
    "engineer's release taken back": "took an engineer's release of {what} back: {allows}",
    "work added by hand": "added the work {what}",
    "work changed by hand": "changed the work {what}",
    "work removed by hand": "took out the work {what}",
    "work split": "split the work {what}",
    "parts joined": "put the parts of {what} together again",
    "pinned by hand": "fixed {what} by hand",
    "crew lent": "set who helps with {what}",
    "tied by hand": "tied {then} to {first}",
    "untied by hand": "untied {then} from {first}",
    "rule lifted": "lifted a rule: {then} need not wait for {first}",
    "rule holds again": "let a rule hold again: {then} waits for {first}",
    "term said": "said what must hold after the storm: {term}",
    "term taken away": "no longer asks for this after the storm: {term}",
    "change order asked for": "wrote down change order {order}",
    "change order worded otherwise": "worded change order {order} anew",
    "change order does more": "put into change order {order}: {does}",
    "change order does less": "took out of change order {order}: {does}",
    "change order signed": "kept that change order {order} was signed",
    "change order declined": "kept that change order {order} was declined",
    "time lost": "said that time was lost: {lost}",
    "lost time taken back": "took back that time was lost: {lost}",
    "taken back": "took back: {said}",
    "day log": "logged {said}",
    "day log taken back": "took back what was logged: {said}",
    "company set up": "set up the company {it}",
    "company changed": "changed the company's settings",
    "hours told": "set hours of work: {it}",
    "hours taken out": "took out hours of work: {it}",
    "holidays closed": "closed the holidays: {it}",
    "sign-in made": "let {name} sign in",
    "sign-in changed": "changed what {name} may",
    "crew made": "made the crew {crew}",
    "crew changed": "changed the crew {crew}",
    "machine made": "added the machine {machine}",
    "machine changed": "changed the machine {machine}",
    "days closed": "closed {days} for {whom}",
    "days opened again": "opened {days} again for {whom}",
    "back again": "said that {whom} is back",
    "lent to another crew": "lent {who}, {days}",
    "with us again": "took back that {who} is no longer with us",
    "lent no more": "ended a loan: {who}",
} | {cause.label: f"told of {cause.label}: {{said}}" for cause in models.Cause}  # fmt: skip
"""By what the entry is about; the causes of a changed plan are told alike."""

FACTS: Mapping[str, str] = {
    "stage": "stands at",
    "start": "begins",
    "promise": "promised",
    "promised_on": "promised",
    "paused from": "paused from",
    "paused_from": "paused from",
    "goes on": "goes on",
    "paused_until": "goes on",
    "zones": "places",
    "a Saturday costs": "a Saturday costs",
    "week": "working week",
    "kind": "kind",
    "count": "how many",
    "least days": "rented for at least",
    "order ahead": "ordered ahead by",
    "zone": "clock",
    "units": "lengths and amounts in",
    "days": "takes",
    "skill": "skill",
    "how": "how",
    "scope": "in words",
    "amount": "price",
    "on": "on",
    "library": "library",
    "sent": "goes out",
    "stood": "before that",
}
"""What a fact is called where its own name will not do."""

WHO: Mapping[str, str] = {
    "command line": "Somebody at the command line",
    "demo": "The demo",
    "evening": "Somebody at the command line",
    "worker": "Yardwright",
}
"""Who did it, where it was no person."""
