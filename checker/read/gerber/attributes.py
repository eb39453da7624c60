"""Attributes: TF, TA, TO and TD, as statements and as structured comments."""

from __future__ import annotations

import re

from checker.read.gerber.drawing import Tag

# Exporters of 2016 to 2019 write four digits without the letter.
_ESCAPE = re.compile(r"\\u?([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")

_NO_NET = ("", "N/C")  # no net; a net of one pin that the file leaves unnamed
_NO_NUMBER = "~"  # what the same exporters write for a pad without one


class Attributes:
    """The attributes in force while a file is read, and the table of names they use.

    Attributes:
        mounts: component -> how it is mounted, as its main flash says (.CMnt).
    """

    def __init__(self) -> None:
        self.file: dict[str, tuple[str, ...]] = {}
        self.names: dict[str, int] = {}
        self.mounts: dict[str, str] = {}
        self._aperture: dict[str, tuple[str, ...]] = {}
        self._object: dict[str, tuple[str, ...]] = {}

    def apply(self, word: str) -> None:
        """Obey a statement such as ``TO.N,GND``; values are optional."""
        command, (name, *values) = word[:2], word[2:].strip().split(",")
        name = name.strip().removeprefix(".")
        fields = tuple(_unescaped(value) for value in values)
        if command == "TD":
            for attributes in (self._aperture, self._object):
                if name:
                    attributes.pop(name, None)
                else:
                    attributes.clear()
        else:
            {"TF": self.file, "TA": self._aperture, "TO": self._object}[command][name] = fields

    @property
    def function(self) -> str | None:
        """The aperture function in force, for apertures defined and regions drawn now."""
        fields = self._aperture.get("AperFunction", ())
        return ",".join(fields[: 1 + (fields[:1] == ("ComponentOutline",))]) or None

    def tag(self, function: str | None) -> Tag:
        """What an object drawn now belongs to."""
        pin = self._object.get("P", ())
        component = self._object.get("C") or pin[:1]
        if component[:1] != pin[:1]:
            pin = ()  # left in force from another part, as some exporters do
        if function == "ComponentMain" and component and "CMnt" in self._object:
            self.mounts.setdefault(component[0], ",".join(self._object["CMnt"]))
        net = next(iter(self._object.get("N", ())), None)
        return Tag(
            self._index(function),
            -1 if net in _NO_NET else self._index(net),
            self._index(next(iter(component), None)),
            self._index(pin[1] if len(pin) > 1 and pin[1] != _NO_NUMBER else None),
        )

    def _index(self, name: str | None) -> int:
        return self.names.setdefault(name, len(self.names)) if name else -1


def _unescaped(text: str) -> str:
    return _ESCAPE.sub(_character, text.strip()) if "\\" in text else text.strip()


def _character(match: re.Match[str]) -> str:
    code = int(match[1] or match[2], 16)
    # Surrogates and numbers beyond Unicode are no characters: leave them as written.
    return chr(code) if code < 0xD800 or 0xDFFF < code < 0x110000 else match[0]
