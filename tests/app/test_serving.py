"""Which names the server answers to: this machine, and what it was told to listen on."""

from __future__ import annotations

from ipaddress import ip_address

from jobs.services.upkeep.serving import names_of

HOME = ["localhost", "127.0.0.1", "[::1]"]


def test_alone_it_answers_to_itself():
    """Nothing else on the loopback."""
    assert names_of("127.0.0.1") == HOME


def test_on_the_network_it_answers_to_its_address():
    """As told."""
    assert names_of("192.168.1.20") == [*HOME, "192.168.1.20"]


def test_everywhere_means_its_own_address_and_not_every_name():
    """A name of somebody else's is still refused."""
    *home, own = names_of("0.0.0.0")
    assert home == HOME[: len(home)]
    assert ip_address(own.strip("[]"))
