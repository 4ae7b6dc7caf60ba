"""How this computer is reached from the studio's network."""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Network:
    """Names and addresses this server answers to, the one to show, and whether traffic is encrypted."""

    hosts: frozenset[str]
    reached_at: str
    tls: bool

    @property
    def scheme(self) -> str:
        """The first part of an address."""
        return "https" if self.tls else "http"


def own_names() -> tuple[str, ...]:
    """The addresses of this computer on local networks, the most likely one first, then its names.

    Addresses of the open internet are left out: the workbench is not made for that.
    """
    import ifaddr

    found = [
        ipaddress.ip_address(str(one.ip))
        for adapter in ifaddr.get_adapters()
        for one in adapter.ips
        if one.is_IPv4
    ]
    local = sorted({one for one in found if one.is_private and not one.is_loopback and not one.is_link_local})
    name = socket.gethostname().lower()
    names = (name, f"{name}.local") if name and "." not in name else (name,) if name else ()
    return (*(str(one) for one in sorted(local, key=_likelihood)), *names)


def _likelihood(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> tuple[bool, str]:
    """Addresses as home and studio routers give them out come first."""
    return (not str(address).startswith("192.168."), str(address))
