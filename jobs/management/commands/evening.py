"""Tomorrow in words for each crew and each owner: printed, or sent."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.services.mail.evening import evening_drafts, may_send, send_evening


class Command(BaseCommand):
    """``evening [--send]``."""

    help = "Print the evening summary, or send what of today's was not sent yet."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--send", action="store_true", help="send it, each message once a day")

    def handle(self, *args: Any, send: bool, **options: Any) -> None:
        now = clock.now()
        if send:
            if not may_send():
                raise CommandError(
                    "No mail server is set: give EMAIL_URL, like smtp://mail.example:25"
                )
            self.stdout.write(f"{send_evening(now, by='evening')} messages went out.")
            return
        drafts = evening_drafts(now)
        if not drafts:
            raise CommandError("Nothing is published: make a plan and publish it first")
        for draft in drafts:
            self.stdout.write(f"To {draft.whom} {f'<{draft.to}>' if draft.to else '(no address)'}")
            self.stdout.write(f"Subject: {draft.subject}\n\n{draft.text}\n\n")
