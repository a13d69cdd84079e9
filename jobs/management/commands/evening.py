"""Tomorrow in words for each crew and each owner: printed, or sent."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import clock
from jobs.services.mail.evening import evening_drafts, may_send, not_sent, send_evening

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from jobs.services.mail.messages import Draft


class Command(BaseCommand):
    """``evening [--send]``."""

    help = "Print the evening summary, or send what of today's was not sent yet."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--send", action="store_true", help="send it, each message once a day")

    def handle(self, *args: Any, send: bool, **options: Any) -> None:
        now = clock.now()
        drafts = evening_drafts(now)
        if not drafts:
            raise CommandError("Nothing is published: make a plan and publish it first")
        if send and may_send():
            self._send(drafts, now)
            return
        self._print(drafts)
        if send:
            raise CommandError(
                "Nothing was sent: no mail server is set. What would have gone out stands above, to copy. "
                "To send it, give EMAIL_URL, like smtp://mail.example:25, and say this again"
            )

    def _send(self, drafts: Sequence[Draft], now: datetime) -> None:
        """Send all that can be sent, and name who got nothing."""
        sent = send_evening(now, by="evening")
        self.stdout.write(f"{sent} message{'' if sent == 1 else 's'} went out.")
        nameless = ", ".join(draft.whom for draft in drafts if not draft.to)
        if nameless:
            self.stdout.write(f"No address is known of: {nameless}. Copy theirs from: evening")
        failed = ", ".join(message.to for message in not_sent(now))
        if failed:
            raise CommandError(
                f"Not sent to {failed}: the mail server refused it. Look at EMAIL_URL, and say this again"
            )

    def _print(self, drafts: Iterable[Draft]) -> None:
        for draft in drafts:
            self.stdout.write(f"To {draft.whom} {f'<{draft.to}>' if draft.to else '(no address)'}")
            self.stdout.write(f"Subject: {draft.subject}\n\n{draft.text}\n\n")
