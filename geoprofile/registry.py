"""Plug-ins by code: looked up, loaded and checked. What does not load is set aside; no name is given twice.

What the package ships enters through the same entry points as anybody's. A
contract has one to three members; see the base classes named in CONTRACTS.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.metadata import entry_points

from .errors import PluginError

CONTRACTS = {
    "geoprofile.readers": ("suffixes", "read"),
    "geoprofile.attributes": ("definition", "derive"),
    "geoprofile.methods": ("title", "uses_bounds", "fit"),
    "geoprofile.writers": ("what", "write"),
}


@dataclass(frozen=True)
class Broken:
    """A plug-in that did not load: its name, where it comes from, why."""

    group: str
    name: str
    value: str
    reason: str


@dataclass(frozen=True)
class Plugins:
    """Loaded plug-ins of one group by name, and the fenced ones."""

    group: str
    loaded: dict[str, object]
    broken: tuple[Broken, ...]

    def get(self, name: str) -> object:
        """The plug-in ``name``; PluginError names the nearest where there is none."""
        if name in self.loaded:
            return self.loaded[name]
        for broken in self.broken:
            if broken.name == name:
                raise PluginError(
                    f"the plug-in {name!r} did not load", where=broken.value, found=broken.reason,
                    remedy="repair or uninstall the package it comes from",
                )
        from difflib import get_close_matches

        near = get_close_matches(name, self.loaded, 1)
        raise PluginError(
            f"there is no {self.group.split('.')[1][:-1]} called {name!r}",
            allowed=", ".join(sorted(self.loaded)),
            remedy=f"did you mean {near[0]!r}?" if near else "choose one of these",
        )


@cache
def plugins(group: str) -> Plugins:
    """All plug-ins of a group, in the order of their names."""
    loaded: dict[str, object] = {}
    broken: list[Broken] = []
    seen: dict[str, str] = {}
    for point in sorted(entry_points(group=group), key=_ours_first):
        if point.name in seen:
            if seen[point.name] != point.value:
                broken.append(Broken(group, point.name, point.value, f"the name is taken by {seen[point.name]}"))
            continue
        try:
            plugin = point.load()
            missing = [member for member in CONTRACTS[group] if not hasattr(plugin, member)]
            if missing:
                raise TypeError(f"lacks {', '.join(missing)}")
        except Exception as error:  # a stranger's code may raise anything; the rest must go on
            broken.append(Broken(group, point.name, point.value, f"{type(error).__name__}: {error}"))
            continue
        loaded[point.name] = plugin
        seen[point.name] = point.value
    return Plugins(group, loaded, tuple(broken))


def all_broken() -> tuple[Broken, ...]:
    """Every fenced plug-in of every group."""
    return tuple(broken for group in CONTRACTS for broken in plugins(group).broken)


def from_elsewhere(group: str) -> dict[str, str]:
    """What other packages offer in a group, with their versions; nothing is loaded.

    Part of the record of what uses it: a product is not reused when a plug-in came, went or changed its version.
    """
    found = {}
    for point in entry_points(group=group):
        if not point.value.startswith("geoprofile."):
            package = f"{point.dist.name} {point.dist.version}" if point.dist else "a package without a name"
            found[f"{group} {point.name}"] = f"{point.value} of {package}"
    return dict(sorted(found.items()))


def _ours_first(point) -> tuple[str, bool, str]:
    return point.name, not point.value.startswith("geoprofile."), point.value
