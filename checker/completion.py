"""Scripts that complete the command line in a shell, made from the parsers of `checker.options`.

A script is fixed once printed and starts no Python at a key press: the names of profiles and rules
stand in it.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from msgspec import Struct

from checker.options import PROG, parsers

if TYPE_CHECKING:
    from collections.abc import Mapping


class Value(Struct, frozen=True):
    """What may stand at a place: known words, the name of a file, or both.

    Attributes:
        words: known ones; those that end in = go on without a space.
        files: whether a file may be named.
        many: whether more of the same may follow.
    """

    words: tuple[str, ...] = ()
    files: bool = False
    many: bool = False


class Option(Struct, frozen=True):
    """An option by its names; ``value`` None where it takes none."""

    names: tuple[str, ...]
    about: str
    value: Value | None
    repeated: bool


class Command(Struct, frozen=True):
    """A command, or the whole line before it; ``places`` in order."""

    name: str
    about: str
    options: tuple[Option, ...]
    places: tuple[Value, ...]


def script(shell: str) -> str:
    """The script for "bash", "zsh" or "fish"."""
    whole, commands = _read()
    return {"bash": _bash, "zsh": _zsh, "fish": _fish}[shell](whole, commands)


def _read() -> tuple[Command, tuple[Command, ...]]:
    """The whole line, and each command, as the parsers describe them."""
    parser, commands = parsers()
    values = _values()
    about: dict[str, str] = {}
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            about = {one.dest: one.help or "" for one in action._choices_actions}
    whole = _command(PROG, "", parser, values)
    return whole, tuple(_command(n, about[n], one, values) for n, one in commands.items())


def _values() -> Mapping[str, Value]:
    """What the parsers' words for a value stand for."""
    from checker.process import profile_names
    from checker.read.roles import ROLES
    from checker.registry import load_rules

    profile = Value(profile_names(), files=True)
    return {
        "BOARD": Value(files=True),
        "PATH": Value(files=True),
        "DIR": Value(files=True),
        "NAME|FILE": profile,
        "PROFILE": profile,
        "ROLE=FILE": Value(tuple(f"{role}=" for role in ROLES)),
        "RULE": Value(tuple(load_rules())),
        "MM": Value(),
        "N": Value(),
        "WHAT": Value(),
    }


def _command(
    name: str, about: str, parser: argparse.ArgumentParser, values: Mapping[str, Value]
) -> Command:
    options, places = [], []
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            continue
        value = None if action.nargs == 0 else _value(action, values)
        if action.option_strings:
            repeated = isinstance(action, argparse._AppendAction)
            names = tuple(action.option_strings)
            options.append(Option(names, action.help or "", value, repeated))
        elif value is not None:
            places.append(value)
    return Command(name, about, tuple(options), tuple(places))


def _value(action: argparse.Action, values: Mapping[str, Value]) -> Value:
    if action.choices is not None:
        return Value(tuple(map(str, action.choices)))
    value = values[str(action.metavar)]
    return Value(value.words, value.files, many=action.nargs in ("+", "*"))


# --- bash -----------------------------------------------------------------------------------

# Where nothing matches, readline completes file names itself, and quotes them as it should.
_BASH = """\
# Completion of {prog} in bash.
_{prog}() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} before=${{COMP_WORDS[COMP_CWORD-1]}} command='' known='' i
  if [[ $word == = ]]; then word=''
  elif [[ $before == = ]]; then before=${{COMP_WORDS[COMP_CWORD-2]}}
  fi
  for ((i = 1; i < COMP_CWORD; i++)); do
    case ${{COMP_WORDS[i]}} in {names}) command=${{COMP_WORDS[i]}}; break ;; esac
  done
  case "$command $before" in
{values}
    *)
      case "$command $word" in
{words}
      esac ;;
  esac
  COMPREPLY=($(compgen -W "$known" -- "$word"))
  [[ ${{COMPREPLY[0]}} == *= ]] && compopt -o nospace 2>/dev/null
  return 0
}}
complete -o bashdefault -o default -F _{prog} {prog}
"""


def _bash(whole: Command, commands: tuple[Command, ...]) -> str:
    values, words = [], []
    for command in (whole, *commands):
        name = "" if command is whole else command.name
        for option in command.options:
            if option.value is not None:
                at = " | ".join(f'"{name} {one}"' for one in option.names)
                values.append(f"    {at}) known={_quoted(' '.join(option.value.words))} ;;")
        names = " ".join(one for option in command.options for one in option.names)
        here = [one.name for one in commands] if command is whole else _known(command)
        words.append(f"        \"{name} \"-*) known='{names}' ;;")
        words.append(f'        "{name} "*) known={_quoted(" ".join(here))} ;;')
    return _BASH.format(
        prog=PROG,
        names="|".join(one.name for one in commands),
        values="\n".join(values),
        words="\n".join(words),
    )


def _known(command: Command) -> list[str]:
    return [word for place in command.places for word in place.words]


# --- zsh ------------------------------------------------------------------------------------

_ZSH = """\
#compdef {prog}
# Completion of {prog} in zsh.
_{prog}() {{
  local curcontext=$curcontext state line
  typeset -A opt_args
  _arguments -C {options} '1: :->command' '*:: :->rest'
  case $state in
    command)
      local -a commands
      commands=({commands})
      _describe command commands ;;
    rest)
      case $words[1] in
{cases}
      esac ;;
  esac
}}
if [ "$funcstack[1]" = _{prog} ]; then _{prog} "$@"; else compdef _{prog} {prog}; fi
"""


def _zsh(whole: Command, commands: tuple[Command, ...]) -> str:
    cases = []
    for command in commands:
        places = [
            _quoted(f"{'*' if place.many else number}: :{_zsh_value(place)}")
            for number, place in enumerate(command.places, 1)
        ]
        specs = " ".join([*map(_zsh_option, command.options), *places])
        cases.append(f"        {command.name}) _arguments {specs} ;;")
    described = (_quoted(f"{one.name}:{one.about.replace(':', '')}") for one in commands)
    return _ZSH.format(
        prog=PROG,
        options=" ".join(map(_zsh_option, whole.options)),
        commands=" ".join(described),
        cases="\n".join(cases),
    )


def _zsh_option(option: Option) -> str:
    about = "".join(f"\\{c}" if c in "[]:\\" else c for c in option.about)
    value = "" if option.value is None else f": :{_zsh_value(option.value)}"
    others = "*" if option.repeated else f"({' '.join(option.names)})"
    return " ".join(_quoted(f"{others}{name}[{about}]{value}") for name in option.names)


def _zsh_value(value: Value) -> str:
    words = " ".join(value.words)
    if value.files:
        return rf'{{_alternative "w\:name\:({words})" "f\:file\:_files"}}' if words else "_files"
    if words.endswith("="):
        return f"{{compadd -S '' -- {words}}}"
    return f"({words})" if words else " "


# --- fish -----------------------------------------------------------------------------------


def _fish(whole: Command, commands: tuple[Command, ...]) -> str:
    lines = [f"# Completion of {PROG} in fish.", f"complete -c {PROG} -f"]
    none = _quoted("__fish_use_subcommand")
    lines += [_fish_option(none, option) for option in whole.options]
    for command in commands:
        about = _quoted(command.about)
        lines.append(f"complete -c {PROG} -n {none} -a {command.name} -d {about}")
    for command in commands:
        after = _quoted(f"__fish_seen_subcommand_from {command.name}")
        lines += [_fish_option(after, option) for option in command.options]
        if words := _known(command):
            lines.append(f"complete -c {PROG} -n {after} -a {_quoted(' '.join(words))}")
        if any(place.files for place in command.places):
            lines.append(f"complete -c {PROG} -n {after} -F")
    return "\n".join(lines) + "\n"


def _fish_option(when: str, option: Option) -> str:
    names = [f"-l {n[2:]}" if n.startswith("--") else f"-s {n[1:]}" for n in option.names]
    parts = [f"complete -c {PROG} -n {when}", *names, f"-d {_quoted(option.about)}"]
    if option.value is not None:
        parts.append("-r -F" if option.value.files else "-x")
        if option.value.words:
            parts.append(f"-a {_quoted(' '.join(option.value.words))}")
    return " ".join(parts)


def _quoted(text: str) -> str:
    """In single quotes, as all three shells read them."""
    return "'" + text.replace("'", "'\\''") + "'"
