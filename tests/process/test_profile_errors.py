"""Every way to get a profile wrong, and the one line that each of them prints."""

from pathlib import Path

import pytest

from checker.errors import ProfileError
from checker.process import load_profile, profile_names

BASED = "based_on: cone-30-0.1\n"
NO_SUCH = "no key is like it; cutworthy profiles cone-30-0.1 shows them"
A_LIST = "a list of lengths such as [0.8 mm, 1 mm]"
TWO = "two lengths such as [100 mm, 160 mm]"
LENGTH_UNITS = "mm, mil, thou, um, in, inch"
BUILT_IN = "add it, or based_on: with the name of a built-in profile"
IN_BRACES = "inside { } a comma ends a value: use quotes, and a point for decimals"
AN_ANGLE = (
    "expected 3 to 150 deg; it is the angle between the two sides; a bit without taper has shape: "
    "flat"
)
NO_ANCHOR = "an anchor (&) or alias (*); expected plain values; put such text in quotes"


def message(folder: Path, text: str | bytes, monkeypatch: pytest.MonkeyPatch) -> str:
    """What loading my.yaml with that content prints."""
    monkeypatch.chdir(folder)
    content = text.encode() if isinstance(text, str) else text
    (folder / "my.yaml").write_bytes(content)
    with pytest.raises(ProfileError) as caught:
        load_profile("my.yaml")
    return str(caught.value)


FILES = {
    "empty": (
        "",
        "my.yaml: is empty; expected keys and values, such as based_on: cone-30-0.1",
    ),
    "comments-only": (
        "# nothing yet\n",
        "my.yaml: is empty; expected keys and values, such as based_on: cone-30-0.1",
    ),
    "list": (
        "- method: milling\n",
        "my.yaml:1: a list; expected keys and values, such as method: milling",
    ),
    "words": (
        "method:milling\n",
        "my.yaml:1: text without a key; expected keys and values, such as method: milling",
    ),
    "stray-colon": (
        "title: fine: bit\n",
        "my.yaml:1: is not YAML: a colon where none may stand; check how far the line is indented, "
        "and put text that holds a colon in quotes",
    ),
    "no-space-after-colon": (
        "method: milling\ntitle:mine\nfoil: 1 oz\n",
        "my.yaml:3: is not YAML: a line without a key; a key ends in a colon and a space",
    ),
    "tab": (
        "bit:\n\tdepth: 0.1\n",
        "my.yaml:2: is not YAML: a tab where a value should start; indent with spaces",
    ),
    "open-bracket": (
        "foil: [1 oz\n",
        "my.yaml:2: is not YAML: expected ',' or ']', but got '<stream end>'",
    ),
    "latin-1": (
        BASED.encode() + b"bed_error: \xb1 0.03\n",
        "my.yaml: is not text in UTF-8; save it as UTF-8, or write +- for ±",
    ),
    "binary": (
        bytes(range(256)),
        "my.yaml: is not text in UTF-8; save it as UTF-8, or write +- for ±",
    ),
    "control-character": (
        "title: a\x07b\n",
        "my.yaml:1: holds a control character; expected a text file in YAML",
    ),
    "long": (
        "a: 1\n" * 20_000,
        "my.yaml: is longer than 64 KiB; expected a profile file",
    ),
    "second-document": (
        BASED + "---\nfoil: 1 oz\n",
        "my.yaml:2: a second document; expected one per file",
    ),
    "tag": (
        "title: !!python/object:os.system x\n",
        "my.yaml:1: a tag (tag:yaml.org,2002:python/object:os.system); expected plain values; "
        "leave the tag out",
    ),
    "anchor": ("a: &a [x, x]\nb: &b [*a, *a]\n", f"my.yaml:1: {NO_ANCHOR}"),
    "alias": ("a: *b\n", f"my.yaml:1: {NO_ANCHOR}"),
    "deep": (
        "a: " + "[" * 50 + "]" * 50,
        "my.yaml:1: nested more than 8 deep; expected a flatter file",
    ),
    "key-that-is-a-list": (
        "? [a, b]\n: 1\n",
        "my.yaml:1: a key that is not a word; expected a word and a colon",
    ),
    "key-twice": (
        BASED + "foil: 1 oz\nbite: 0\nfoil: 2 oz\n",
        "my.yaml:4: foil is given a second time; it stands in line 2 already",
    ),
    "merge-key": (
        BASED + "<<: {bite: 0}\n",
        f"my.yaml:2: <<: unknown key; {NO_SUCH}",
    ),
}

KEYS = {
    "misspelt": (
        BASED + "minimum_trase: 0.2\n",
        "my.yaml:2: minimum_trase: unknown key; did you mean minimum_trace?",
    ),
    "misspelt-in-bit": (
        BASED + "bit:\n  tip_with: 0.1\n",
        "my.yaml:3: bit.tip_with: unknown key; did you mean tip_width?",
    ),
    "not-like-any": (
        BASED + "xyz: 1\n",
        f"my.yaml:2: xyz: unknown key; {NO_SUCH}",
    ),
    "belongs-under-bit": (
        BASED + "depth: 0.1\n",
        "my.yaml:2: depth: unknown key; it belongs under bit:",
    ),
    "not-like-any-of-its-group": (
        BASED + "legend:\n  xyz: 1\n",
        "my.yaml:3: legend.xyz: unknown key; known here: depth",
    ),
    "group-misspelt": (
        BASED + "drill: {sizes: 1}\n",
        "my.yaml:2: drill: unknown key; did you mean drills?",
    ),
    "belongs-under-another-group": (
        BASED + "feeds: {cutter: 1}\n",
        "my.yaml:2: feeds.cutter: unknown key; did you mean cut?",
    ),
    "nearer-in-its-own-group": (
        BASED + "drills: {size: 1}\n",  # there is a stock.size
        "my.yaml:2: drills.size: unknown key; did you mean sizes?",
    ),
    "belongs-under-drills": (
        BASED + "wander: 0.1\n",
        "my.yaml:2: wander: unknown key; it belongs under drills:",
    ),
    "of-two-homes-the-margin": (
        BASED + "bit: {method: laser}\n",  # there is a joints.method
        "my.yaml:2: bit.method: unknown key; it belongs at the margin",
    ),
    "dotted-of-two-homes": (
        BASED + "legend.depth: 0.1\n",
        "my.yaml:2: legend.depth: unknown key; it belongs under legend:",
    ),
    "group-without-keys": (
        BASED + "drills: [0.8 mm]\n",
        "my.yaml:2: drills: a list; expected keys and values",
    ),
    "not-for-etching": (
        "based_on: etch\nfeeds: {spindle: 10000 rpm}\n",
        "my.yaml:2: feeds.spindle: does not apply to etching; leave it out",
    ),
    "dotted": (
        BASED + "bit.depth: 0.1\n",
        "my.yaml:2: bit.depth: unknown key; it belongs under bit:",
    ),
    "belongs-at-the-margin": (
        BASED + "bit:\n  foil: 1 oz\n",
        "my.yaml:3: bit.foil: unknown key; it belongs at the margin",
    ),
    "key-with-a-line-break": (
        BASED + '"a\\nb": 1\n',
        f"my.yaml:2: a\\nb: unknown key; {NO_SUCH}",
    ),
    "value-missing": (
        BASED + "foil:\n",
        "my.yaml:2: foil: nothing stands here; expected a thickness such as 35 um or 1 oz ± 10 %",
    ),
    "bit-without-keys": (
        BASED + "bit: cone\n",
        "my.yaml:2: bit: 'cone'; expected keys and values",
    ),
    "severity-list": (
        BASED + "severity: [tight-gap]\n",
        "my.yaml:2: severity: a list; expected rule names and severities",
    ),
    "severity-unknown": (
        BASED + "severity:\n  tight-gap: fatal\n",
        "my.yaml:3: severity.tight-gap: 'fatal'; expected error, warning, note",
    ),
    "severity-of-no-name": (
        BASED + "severity:\n  Tight Gap: note\n",
        "my.yaml:3: severity: 'Tight Gap' is not a rule's name; expected one such as "
        "uncuttable-gap",
    ),
    "method-unknown": (
        "method: mill\n",
        "my.yaml:1: method: 'mill'; expected milling, laser, etching, perfboard",
    ),
    "method-missing": (
        "foil: 1 oz\n",
        "my.yaml: method is missing; expected milling, laser, etching, perfboard; " + BUILT_IN,
    ),
    "shape-missing": (
        "method: milling\n",
        "my.yaml: bit.shape is missing; expected cone, flat, ball, beam; " + BUILT_IN,
    ),
    "shape-of-another-method": (
        "method: milling\nbit:\n  shape: beam\n",
        "my.yaml:3: bit.shape: 'beam' is not for milling; expected cone, flat, ball",
    ),
    "angle-missing": (
        "method: milling\nbit: {shape: cone, tip_width: 0.1}\n",
        "my.yaml: bit.angle is missing; expected an angle such as 30 deg; " + BUILT_IN,
    ),
    "foil-missing": (
        "method: etching\nminimum_gap: 0.2\n",
        "my.yaml: foil is missing; expected a thickness such as 35 um or 1 oz ± 10 %; " + BUILT_IN,
    ),
    "another-shape-inherits-no-size": (
        BASED + "bit: {shape: flat}\n",
        "my.yaml: bit.diameter is missing; expected a length such as 0.1 mm or "
        "0.1 mm ± 0.02 mm; " + BUILT_IN,
    ),
    "not-for-the-shape": (
        "based_on: flat-0.4\nbit: {angle: 30}\n",
        "my.yaml:2: bit.angle: does not apply to a flat; leave it out",
    ),
    "not-for-the-method": (
        BASED + "minimum_gap: 0.2\n",
        "my.yaml:2: minimum_gap: does not apply to milling; leave it out",
    ),
    "bit-for-etching": (
        "based_on: etch\nbit: {depth: 0.1}\n",
        "my.yaml:2: bit.depth: does not apply to etching; leave it out",
    ),
}

QUANTITIES = {
    "decimal-comma": (
        "minimum_trace: 0,2 mm",
        "minimum_trace: '0,2 mm' has a decimal comma; write 0.2 mm",
    ),
    "decimal-comma-in-braces": (
        "minimum_trace: {value: 0,2 mm}",
        f"minimum_trace.2 mm: unknown key; {IN_BRACES}",
    ),
    "decimal-comma-in-the-braces-of-a-group": (
        "bit: {depth: 0,1 mm}",
        f"bit.1 mm: unknown key; {IN_BRACES}",
    ),
    "comma-in-a-source": (
        "foil: {value: 1 oz, source: standard, clause 3}",
        f"foil.clause 3: unknown key; {IN_BRACES}",
    ),
    "words": (
        "minimum_trace: thin",
        "minimum_trace: 'thin' is not a number; expected a number with or without a unit "
        f"({LENGTH_UNITS})",
    ),
    "unit-in-plural": (
        "minimum_trace: 8 mils",
        f"minimum_trace: 'mils' is not a unit known here; expected {LENGTH_UNITS}; write mil",
    ),
    "unit-unknown": (
        "minimum_trace: 8 lines",
        f"minimum_trace: 'lines' is not a unit known here; expected {LENGTH_UNITS}",
    ),
    "ounce-of-width": (
        "minimum_trace: 1 oz",
        f"minimum_trace: 'oz' is not a unit known here; expected {LENGTH_UNITS}; ounces are for "
        "foil only",
    ),
    "angle-nought": (
        "bit: {angle: 0}",
        f"bit.angle: 0 deg is not plausible; {AN_ANGLE}",
    ),
    "angle-of-a-line": (
        "bit: {angle: 180 deg}",
        f"bit.angle: 180 deg is not plausible; {AN_ANGLE}",
    ),
    "angle-negative": (
        "bit: {angle: -30}",
        "bit.angle: -30 deg is not plausible; expected 3 to 150 deg; did you mean 30 deg?",
    ),
    "shape-as-people-call-it": (
        "bit: {shape: v-bit}",
        "bit.shape: 'v-bit'; expected cone, flat, ball, beam; V bits are cones, end mills flat",
    ),
    "tip-nought": (
        "bit: {tip_width: 0}",
        "bit.tip_width: 0 mm is not plausible; expected 0.01 to 1.5 mm; the sharpest tip has a "
        "flat",
    ),
    "tip-mil-as-mm": (
        "bit: {tip_width: 4}",
        "bit.tip_width: 4 mm is not plausible; expected 0.01 to 1.5 mm; did you mean 4 mil "
        "(0.1016 mm)?",
    ),
    "tip-of-30-mm": (
        "bit: {tip_width: 30 mm}",
        "bit.tip_width: 30 mm is not plausible; expected 0.01 to 1.5 mm; did you mean 30 mil "
        "(0.762 mm)?",
    ),
    "tip-in-inches": (
        "bit: {tip_width: 0.004}",
        "bit.tip_width: 0.004 mm is not plausible; expected 0.01 to 1.5 mm; did you mean 0.004 in "
        "(0.1016 mm)?",
    ),
    "tip-ten-thousandth": (
        "bit: {tip_width: 0.0001 mm}",
        "bit.tip_width: 0.0001 mm is not plausible; expected 0.01 to 1.5 mm; did you mean 0.1 mm?",
    ),
    "depth-converted-twice": (
        "bit: {depth: 58.06 mil}",
        "bit.depth: 58.06 mil is not plausible; expected 0.01 to 1 mm; did you mean 58.06 um "
        "(0.05806 mm)?",
    ),
    "depth-nought": (
        "bit: {depth: 0}",
        "bit.depth: 0 mm is not plausible; expected 0.01 to 1 mm",
    ),
    "depth-negative": (
        "bit: {depth: -0.1 mm}",
        "bit.depth: -0.1 mm is not plausible; expected 0.01 to 1 mm; did you mean 0.1 mm?",
    ),
    "foil-ounces-as-mm": (
        "foil: 1",
        "foil: 1 mm is not plausible; expected 0.003 to 0.22 mm; did you mean 1 oz (0.0343 mm)?",
    ),
    "foil-um-as-mm": (
        "foil: 35",
        "foil: 35 mm is not plausible; expected 0.003 to 0.22 mm; did you mean 35 um (0.035 mm)?",
    ),
    "angle-in-radians": (
        "bit: {angle: 0.5236}",
        "bit.angle: 0.5236 deg is not plausible; expected 3 to 150 deg; if that is 0.5236 rad, "
        "write 30 deg",
    ),
    "angle-marked-radians": (
        "bit: {angle: 0.5236 rad}",
        "bit.angle: 'rad' is not a unit known here; expected deg, degrees; write 30 deg",
    ),
    "depth-that-does-not-reach-through-the-foil": (
        "bit: {depth: 0.02 mm}",
        "bit.depth: 0.02 mm does not go through the foil, 0.0343 mm; expected bit.depth of 0.07 mm "
        "or more; that counts 0.038 mm of foil at most, 0.030 mm for bed and setting",
    ),
    "foil-that-the-depth-does-not-reach-through": (
        "foil: 3 oz",
        "foil: 0.103 mm is thicker than the cut is deep, 0.09 mm; expected bit.depth of 0.15 mm or "
        "more; that counts 0.103 mm of foil at most, 0.040 mm for bed and setting",
    ),
    "depth-spread-of-all-of-it": (
        "bit: {depth: 0.1 mm ± 100 %}",
        "bit.depth: 0 to 0.2 mm spread as wide as the depth itself; expected a spread below 0.1 mm",
    ),
    "depth-spread-of-more-than-it": (
        "bit: {depth: {least: 0.05, nominal: 0.1, most: 0.5}}",
        "bit.depth: 0.05 to 0.5 mm spread as wide as the depth itself; expected a spread below "
        "0.1 mm",
    ),
    "depth-that-is-no-number": (
        "bit: {depth: NaN}",
        "bit.depth: 'NaN' is not a number; expected a number with or without a unit "
        f"({LENGTH_UNITS})",
    ),
    "depth-without-end": (
        "bit: {depth: .inf}",
        "bit.depth: '.inf' is not a number; expected a number with or without a unit "
        f"({LENGTH_UNITS})",
    ),
    "depth-of-a-universe": (
        "bit: {depth: 1e99 mm}",
        "bit.depth: 1e+99 mm is not plausible; expected 0.01 to 1 mm",
    ),
    "runout-that-no-collet-has": (
        "bit: {runout: 2 mm}",
        "bit.runout: 2 mm is not plausible; expected 0 to 0.6 mm; did you mean 2 mil (0.0508 mm)?",
    ),
    "spread-too-wide": (
        "bit: {depth: 0.1 ± 20}",
        "bit.depth: the spread '20' is wider than the value '0.1'; expected a spread below the "
        "value; did you mean 20 um (0.02 mm)?",
    ),
    "spread-a-little-too-wide": (
        "bit: {depth: 0.1 ± 0.11}",
        "bit.depth: the spread '0.11' is wider than the value '0.1'; expected a spread below the "
        "value",
    ),
    "spread-negative": (
        "bit: {depth: 0.1 ± -0.01}",
        "bit.depth: the spread '-0.01' is negative; expected a spread of 0 or more",
    ),
    "spread-of-another-unit": (
        "bit: {depth: 4 ± 1 mil}",
        "bit.depth: '4' has no unit and its spread has 'mil'; expected a unit on both",
    ),
    "spread-missing": (
        "bit: {depth: 0.1 ±}",
        "bit.depth: '0.1 ±' is not a value with a spread; expected 0.1 mm ± 0.02 mm",
    ),
    "spread-of-a-limit": (
        "minimum_trace: 0.2 ± 0.1",
        "minimum_trace: '0.2 ± 0.1' has a spread; expected one value without ±",
    ),
    "measured-without-spread": (
        "bit: {measured_width: 0.2}",
        "bit.measured_width: '0.2' says nothing of its spread; expected 0.2 ± 0.01 mm or the like",
    ),
    "ends-out-of-order": (
        "bit: {measured_width: {least: 0.2, nominal: 0.1, most: 0.3}}",
        "bit.measured_width: 0.2, 0.1, 0.3 mm; expected least, nominal and most in order",
    ),
    "end-missing": (
        "bit: {measured_width: {least: 0.2, most: 0.3}}",
        "bit.measured_width: nominal is missing; expected least, nominal, most, source",
    ),
    "sd-too-wide": (
        "bit: {measured_width: {value: 0.2, sd: 0.11}}",
        "bit.measured_width.sd: 0.11 mm is not plausible; expected 0 to 0.1 mm; did you mean "
        "0.11 mil (0.002794 mm)?",
    ),
    "twice-sd-wider-than-value": (
        "bit: {depth: 0.1 mm sd 0.06 mm}",
        "bit.depth: twice the standard deviation '0.06 mm' is wider than the value '0.1 mm'; "
        "expected a spread below the value",
    ),
    "negative-sd": (
        "bit: {depth: 0.1 sd -0.01}",
        "bit.depth: the standard deviation '-0.01' is negative; expected a standard deviation of 0 "
        "or more",
    ),
    "sd-missing": (
        "bit: {depth: 0.1 sd}",
        "bit.depth: '0.1 sd' is not a value with a spread; expected 0.1 mm ± 0.02 mm",
    ),
    "two-spreads": (
        "bit: {depth: 0.1 sd 0.01 ± 0.02}",
        "bit.depth: '0.1 sd 0.01 ± 0.02' is not a value with a spread; expected 0.1 mm ± 0.02 mm",
    ),
    "sd-of-another-unit": (
        "bit: {depth: 4 sd 1 mil}",
        "bit.depth: '4' has no unit and its spread has 'mil'; expected a unit on both",
    ),
    "sd-of-a-limit": (
        "minimum_trace: 0.2 sd 0.1",
        "minimum_trace: '0.2 sd 0.1' has a spread; expected one value without sd",
    ),
    "long-form-misspelt": (
        "foil: {value: 1 oz, sorce: the packet}",
        "foil.sorce: unknown key; did you mean source?",
    ),
    "long-form-without-value": (
        "foil: {source: the packet}",
        "foil: value is missing; expected value, sd, source",
    ),
    "cone-wider-than-its-body": (
        "bit: {diameter: 0.12}",
        "bit.diameter: 0.12 mm is less than the tip; expected at least 0.15 mm; the diameter of a "
        "cone is that of its body",
    ),
    "tip-wider-than-its-body": (
        "bit: {diameter: 1 mm, tip_width: 1.2 mm}",
        "bit.diameter: 1 mm is less than the tip; expected at least 1.2 mm; the diameter of a cone "
        "is that of its body",
    ),
    "divided-by-nought": (
        "foil: 1/0",
        "foil: '1/0' is not a number; expected a finite number",
    ),
    "very-long-number": (
        "foil: " + "9" * 200,
        "foil: '99999999999999999999'... is not a number",
    ),
    "half-a-layer": (
        "layer_count: 2.5",
        "layer_count: '2.5'; expected a whole number from 1 to 64",
    ),
    "escape-in-a-title": (
        'title: "a\\e[2Jb"',
        "title: 'a\\x1b[2Jb' holds a control character; expected text",
    ),
    "title-that-is-a-list": (
        "title: [a]",
        "title: a list; expected text",
    ),
}


LIMITS = {
    "web-negative": (
        "web: -1 mm",
        "web: -1 mm is not plausible; expected 0 to 3 mm; did you mean 1 mm?",
    ),
    "web-of-mils": (
        "web: 10",
        "web: 10 mm is not plausible; expected 0 to 3 mm; did you mean 10 mil (0.254 mm)?",
    ),
    "ring-of-um": (
        "ring: 300 mm",
        "ring: 300 mm is not plausible; expected 0 to 5 mm; did you mean 300 um (0.3 mm)?",
    ),
    "tolerance-of-none": (
        "drills: {tolerance: none}",
        "drills.tolerance: 'none' is not a number; expected a number with or without a unit "
        f"({LENGTH_UNITS})",
    ),
    "cutter-of-inches": (
        "outline: {cutter: 1/8}",
        "outline.cutter: 0.125 mm is not plausible; expected 0.2 to 6.5 mm; did you mean 0.125 in "
        "(3.175 mm)?",
    ),
    "no-drills": ("drills: {sizes: []}", f"drills.sizes: an empty list; expected {A_LIST}"),
    "drills-left-out": (
        "drills: {sizes: }",
        f"drills.sizes: nothing stands here; expected {A_LIST}",
    ),
    "drills-without-brackets": (
        "drills: {sizes: '0.8 mm, 1 mm'}",
        f"drills.sizes: '0.8 mm, 1 mm'; expected {A_LIST}",
    ),
    "drills-without-commas": (
        "drills: {sizes: 0.8 1.0}",
        f"drills.sizes: '0.8 1.0'; expected {A_LIST}",
    ),
    "drill-of-um": (
        "drills: {sizes: [0.8, 800]}",
        "drills.sizes: 800 mm is not plausible; expected 0.05 to 20 mm; did you mean 800 um "
        "(0.8 mm)?",
    ),
    "drill-in-words": (
        "drills: {sizes: [0.8, thin]}",
        "drills.sizes: 'thin' is not a number; expected a number with or without a unit "
        f"({LENGTH_UNITS})",
    ),
    "drills-in-a-list-of-lists": (
        "drills: {sizes: [[0.8]]}",
        f"drills.sizes: a list of something else; expected {A_LIST}",
    ),
    "drills-in-a-very-long-list": (
        f"drills: {{sizes: [{', '.join(['1'] * 501)}]}}",
        f"drills.sizes: a list of 501; expected {A_LIST}",
    ),
    "drills-without-value": (
        "drills: {sizes: {source: the box}}",
        "drills.sizes: value is missing; expected value, source",
    ),
    "drills-long-form-misspelt": (
        "drills: {sizes: {value: [0.8], sorce: the box}}",
        "drills.sizes.sorce: unknown key; did you mean source?",
    ),
    "drills-with-a-source-that-is-a-list": (
        "drills: {sizes: {value: [0.8], source: [the box]}}",
        "drills.sizes.source: no printable text; expected words",
    ),
    "travel-of-one-axis": (
        "machine: {travel: 180 mm}",
        f"machine.travel: '180 mm'; expected {TWO}",
    ),
    "travel-with-a-cross": (
        "machine: {travel: 180 x 120 mm}",
        f"machine.travel: '180 x 120 mm'; expected {TWO}",
    ),
    "travel-of-three-axes": (
        "machine: {travel: [180, 120, 40]}",
        f"machine.travel: a list of 3; expected {TWO}",
    ),
    "travel-negative": (
        "machine: {travel: [180, -120]}",
        "machine.travel: -120 mm is not plausible; expected 10 to 3000 mm; did you mean 120 mm?",
    ),
    "area-of-a-length": (
        "smallest_leftover: 0.5 mm",
        "smallest_leftover: 'mm' is not a unit known here; expected mm2, cm2; write mm2",
    ),
    "area-negative": (
        "joints: {pad_area_hole: -1}",
        "joints.pad_area_hole: -1 mm2 is not plausible; expected 0 to 50 mm2; did you mean 1 mm2?",
    ),
    "feed-of-a-length": (
        "feeds: {cut: 200 mm}",
        "feeds.cut: 'mm' is not a unit known here; expected mm/min, mm/s, m/min, in/min; "
        "write mm/min",
    ),
    "feed-of-metres": (
        "feeds: {cut: 200 m/min}",
        "feeds.cut: 200 m/min is not plausible; expected 1 to 20000 mm/min; did you mean "
        "200 mm/min?",
    ),
    "feed-nought": (
        "feeds: {cut: 0}",
        "feeds.cut: 0 mm/min is not plausible; expected 1 to 20000 mm/min; write none where it is "
        "not known",
    ),
    "spindle-that-stands": (
        "feeds: {spindle: 0 rpm}",
        "feeds.spindle: 0 rpm is not plausible; expected 500 to 200000 rpm; write none where it is "
        "not known",
    ),
    "chip-nought": (
        "feeds: {chip: 0 mm}",
        "feeds.chip: 0 mm is not plausible; expected 0.001 to 0.5 mm; write none where it is not "
        "known",
    ),
    "life-nought": (
        "feeds: {life: 0}",
        "feeds.life: 0 m is not plausible; expected 0.1 to 10000 m; write none where it is not "
        "known",
    ),
    "no-edge": (
        "feeds: {flutes: 0}",
        "feeds.flutes: '0'; expected a whole number from 1 to 12",
    ),
    "turns-in-thousands": (
        "feeds: {spindle: 10}",
        "feeds.spindle: 10 rpm is not plausible; expected 500 to 200000 rpm; did you mean "
        "10000 rpm?",
    ),
    "share-of-more-than-all": (
        "feeds: {overlap: 140 %}",
        "feeds.overlap: 140 % is not plausible; expected 0 to 95 %",
    ),
    "share-in-percent-without-its-sign": (
        "feeds: {overlap: 40}",
        "feeds.overlap: 40 is not plausible; expected 0 to 95 %; did you mean 40 %?",
    ),
    "time-in-minutes": (
        "feeds: {evening: 180}",
        "feeds.evening: 180 h is not plausible; expected 0.05 to 100 h; did you mean 180 min "
        "(3 h)?",
    ),
    "time-as-a-clock-shows-it": (
        "feeds: {evening: 1:30}",
        "feeds.evening: '1:30' is not a number; expected a number with or without a unit "
        "(h, min, s)",
    ),
    "way-in-kilometres": (
        "feeds: {life: 20 km}",
        "feeds.life: 'km' is not a unit known here; expected m",
    ),
    "rise-of-a-furnace": (
        "temperature_rise: 500 K",
        "temperature_rise: 500 K is not plausible; expected 1 to 100 K; did you mean 5 K?",
    ),
    "no-drill-changes": (
        "drills: {most_sizes: 0}",
        "drills.most_sizes: '0'; expected a whole number from 1 to 99",
    ),
    "joined-by-glue": (
        "joints: {method: glue}",
        "joints.method: 'glue'; expected wire, rivet",
    ),
}


@pytest.mark.parametrize(("text", "printed"), FILES.values(), ids=FILES)
def test_file_that_is_no_profile(
    text: str | bytes, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert message(tmp_path, text, monkeypatch) == printed


@pytest.mark.parametrize(("text", "printed"), KEYS.values(), ids=KEYS)
def test_key_that_cannot_be_used(
    text: str, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert message(tmp_path, text, monkeypatch) == printed


@pytest.mark.parametrize(
    ("line", "printed"),
    [*QUANTITIES.values(), *LIMITS.values()],
    ids=[*QUANTITIES, *LIMITS],
)
def test_value_that_cannot_be_meant(
    line: str, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert message(tmp_path, f"{BASED}{line}\n", monkeypatch) == f"my.yaml:2: {printed}"


BASES = {
    "unknown-name": (
        "based_on: cone-30-0.3\n",
        "my.yaml:1: based_on: no built-in profile 'cone-30-0.3'; the name of your own file ends in "
        ".yaml; did you mean cone-30-0.2?",
    ),
    "missing-file": (
        "foil: 1 oz\nbased_on: shop.yaml\n",
        "shop.yaml: no such file; my.yaml:2 is based on it",
    ),
    "itself": (
        "based_on: my.yaml\n",
        "my.yaml:1: based_on: leads back to itself: my.yaml -> my.yaml",
    ),
    "list": (
        "based_on: [etch, laser]\n",
        "my.yaml:1: based_on: a list; expected text",
    ),
}


@pytest.mark.parametrize(("text", "printed"), BASES.values(), ids=BASES)
def test_base_that_cannot_be_used(
    text: str, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert message(tmp_path, text, monkeypatch) == printed


def test_tip_is_named_where_the_body_is_that_of_the_base(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "thin.yaml").write_text(BASED + "bit: {diameter: 0.5 mm}\n")

    printed = message(tmp_path, "based_on: thin.yaml\nbit: {tip_width: 0.6 mm}\n", monkeypatch)

    assert printed == (
        "my.yaml:2: bit.tip_width: 0.6 mm is wider than the bit; expected at most 0.5 mm; the "
        "diameter of a cone is that of its body"
    )


def test_depth_of_a_base_is_named_with_the_base(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shallow.yaml").write_text(BASED + "bit: {depth: 0.03}\n")

    printed = message(tmp_path, "based_on: shallow.yaml\ntitle: Mine\n", monkeypatch)

    assert printed.startswith("shallow.yaml:2: bit.depth: 0.03 mm does not go through the foil")


@pytest.mark.parametrize(("bed", "least"), [("0", 0.05), ("0.03", 0.08), ("0.1", 0.15)])
def test_depth_told_is_the_least_that_cuts_the_foil_everywhere(
    bed: str, least: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Foil of 1 oz is 0.0377 mm at most; 0.01 mm for setting the depth, and the bed.
    text = f"{BASED}bed_error: {bed}\nbit:\n  depth: "

    printed = message(tmp_path, f"{text}0.03 ± 0.01\n", monkeypatch)
    (tmp_path / "my.yaml").write_text(f"{text}{least} ± 0.01\n")
    process = load_profile("my.yaml")

    assert f"expected bit.depth of {least:.2f} mm or more" in printed
    assert process.reached is not None
    assert process.foil.most <= process.reached.least < process.foil.most + 0.01


def test_depth_of_just_the_foil_is_left_to_the_rule(tmp_path: Path) -> None:
    path = tmp_path / "my.yaml"
    path.write_text(f"{BASED}foil: 35 um\nbit: {{depth: 35 um}}\n")

    assert load_profile(path).reached is not None


def test_longer_way_back_to_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "a.yaml").write_text("based_on: b.yaml\n")
    (tmp_path / "shop" / "b.yaml").write_text("foil: 1 oz\nbased_on: ../my.yaml\n")

    printed = message(tmp_path, "based_on: shop/a.yaml\n", monkeypatch)

    assert printed == (
        "shop/b.yaml:2: based_on: leads back to itself: my.yaml -> shop/a.yaml -> shop/b.yaml -> "
        "shop/../my.yaml"
    )


def test_endless_chain_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(20):
        (tmp_path / f"p{number}.yaml").write_text(f"based_on: p{number + 1}.yaml\n")

    printed = message(tmp_path, "based_on: p0.yaml\n", monkeypatch)

    assert printed == "p14.yaml:1: based_on: is more than 16 profiles deep"


def test_fault_in_a_base_names_the_base(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shop.yaml").write_text(BASED + "foil: 35 mm\n")

    printed = message(tmp_path, "based_on: shop.yaml\n", monkeypatch)

    assert printed.startswith("shop.yaml:2: foil: 35 mm is not plausible")


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("gone.yaml", "gone.yaml: no such file"),
        ("./gone", "gone: no such file"),
        ("folder.yaml", "folder.yaml: is a folder; expected a profile file"),
        ("a\0b.yaml", "a\\x00b.yaml: no such file"),
        ("x" * 300 + ".yaml", "x" * 300 + ".yaml: cannot be read: File name too long"),
        ("etch.yaml", "etch.yaml: no such file; the built-in profile is called etch"),
        (
            "flat-0.5",
            "profile: no built-in profile 'flat-0.5'; the name of your own file ends in .yaml; did "
            "you mean flat-0.8?",
        ),
        (
            "",
            "profile: no built-in profile ''; the name of your own file ends in .yaml; known here: "
            f"{', '.join(profile_names())}",
        ),
        (
            "../profiles",
            "../profiles: no such file",
        ),
    ],
)
def test_profile_that_is_not_there(
    name: str, printed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.yaml").mkdir()

    with pytest.raises(ProfileError) as caught:
        load_profile(name)

    assert str(caught.value) == printed
