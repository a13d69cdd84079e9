"""Create the owner's sign-in."""

from __future__ import annotations

import sys
from getpass import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from crews.services.people import BadPersonError, create_owner


class Command(BaseCommand):
    """``create_owner EMAIL NAME``: asks for the password unless it is given."""

    help = "Create an owner: somebody who may change everything."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email", metavar="EMAIL")
        parser.add_argument("name", metavar="NAME")
        given = parser.add_mutually_exclusive_group()
        given.add_argument("--password", help="seen by others in the list of processes")
        given.add_argument(
            "--password-stdin", action="store_true", help="read it from the first line of input"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            person = create_owner(options["email"], options["name"], self._password(options))
        except BadPersonError as bad:
            raise CommandError(str(bad), returncode=2) from bad
        self.stdout.write(f"{person.name} may sign in as {person.email}.")

    def _password(self, options: dict[str, Any]) -> str:
        if options["password_stdin"]:
            return sys.stdin.readline().rstrip("\r\n")
        if options["password"] is not None:
            return str(options["password"])
        if not sys.stdin.isatty():
            raise BadPersonError("Nobody can be asked for a password: use --password-stdin.")
        first, second = getpass("Password: "), getpass("Password again: ")
        if first != second:
            raise BadPersonError("The two passwords differ.")
        return first
