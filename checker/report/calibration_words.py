"""What a calibration says, in the words that its text and its page share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from checker.calibration.combs import at_least, smallest
from checker.calibration.measurements import DIRECTIONS
from checker.calibration.settings import written
from checker.report import words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from checker.calibration.changes import Change
    from checker.calibration.fit import Estimate
    from checker.calibration.model import Calibration, Row
    from checker.process.bit import Spread

_EXACT = 1e-9


def head(calibration: Calibration) -> str:
    """Which process was measured, when and with what."""
    told = calibration.measurements
    text = words.plain(calibration.process.name)
    if told.date is not None:
        text += f" on {told.date}"
    if told.bit is not None:
        text += f", {words.plain(told.bit)}"
    return text


def width(calibration: Calibration) -> Iterator[str]:
    """The cut at the profile's depth, against what the profile said, and what its spread is."""
    found, process = calibration.width, calibration.process
    spread, depth = found.spread, at_depth(calibration)
    least, nominal, most = map(words.mm, written(spread))  # as they go into the profile
    yield f"Cut {nominal} mm wide{depth}, {least} to {most} with its spread"
    if process.cut is not None:
        before = "as measured before" if process.measured else "by the catalogue"
        off = round(spread.nominal, 3) - round(process.cut.nominal, 3)  # of what stands there
        yield (
            f"The profile says {words.mm(process.cut.nominal)} mm {before}, "
            f"{_between(process.cut)} at the worst: the cut is {words.mm(abs(off))} mm "
            f"{'wider' if off >= 0 else 'narrower'}"
        )
    yield "That spread adds as squares " + ", ".join(f"±{words.mm(n)} mm {of}" for n, of in parts(
        calibration
    ))  # fmt: skip
    if any(found.aside):
        low, high = found.aside
        yield f"Directions add {low:+z.3f} to {high:+z.3f} mm to it in full"
    yield f"The mean of all such cuts lies within ±{words.mm(found.fitted.reach)} mm of it"


def parts(calibration: Calibration) -> Iterator[tuple[float, str]]:
    """What the spread of the width is made of: half of a range, and of what."""
    found = calibration.width
    yield (
        found.predicted.reach,
        "for one more cut: scatter of readings and places, error of the fit",
    )
    if found.setting > _EXACT:
        yield found.setting, "for setting the depth anew, from the profile"
    if found.bed > _EXACT:
        yield found.bed, "for the bed beyond what the places show, from the profile"


def shape(calibration: Calibration) -> Iterator[str]:
    """Tip, angle and scatter."""
    tip, angle, fit = calibration.tip, calibration.angle, calibration.line.fit
    if tip is not None and angle is not None:
        yield (
            f"Apparent tip {words.mm(tip.value)} mm ({_interval(tip)}), runout included; angle "
            f"{angle.nominal:.1f} deg ({angle.least:.1f} to {angle.most:.1f})"
        )
    n = len(fit.values)
    text = f"{words.count(n, 'reading')} scatter by {fit.residual**0.5:.4f} mm"
    places = int(fit.places.max()) + 1
    if places > 1:
        text += f", {words.count(places, 'place')} by {fit.between**0.5:.4f} mm"
    yield text + " (one standard deviation)"


def directions(calibration: Calibration) -> Iterator[tuple[str, str, str]]:
    """Which against which, how much wider with its interval, and whether that is chance."""
    for one in calibration.directions:
        says = "more than chance" if one.differs else "no more than chance"
        low, high = one.wider.interval
        wider = f"{one.wider.value:+z.3f} ({low:+z.3f} to {high:+z.3f})"
        yield f"along {one.along} against {one.against}", wider, says


def combs(calibration: Calibration) -> Iterator[tuple[str, str, str, str]]:
    """What, the narrowest from which all are good, how many that were, what they make sure."""
    for what, good, rows in (
        ("gaps", "open", calibration.gaps),
        ("traces", "surviving", calibration.traces),
    ):
        for along in DIRECTIONS:
            if any(row.comb.along == along for row in rows):
                yield (f"{what} across {along}", *_comb(rows, along, good))


def _comb(rows: Sequence[Row], along: str, good: str) -> tuple[str, str, str]:
    row = smallest(rows, along)
    if row is None:
        return "none", "-", "-"
    comb = row.comb
    sure = f"{at_least(row.least)} or more of all such {good}"
    return f"{comb.drawn:g} mm", f"{comb.good} of {comb.of}", sure


def others(calibration: Calibration) -> Iterator[str]:
    """Registration, backlash and the serpentine."""
    told = calibration.measurements
    for offset in calibration.registration:
        text = f"Second side in {offset.axis}: {offset.mean.value:+z.3f} mm off"
        if offset.deviation is None:
            yield f"{text}, one target"
        else:
            targets = words.count(offset.count, "target")
            yield f"{text} in the mean of {targets}, which scatter by {offset.deviation:.3f} mm"
    for axis, play in sorted(told.backlash.items()):
        yield f"Backlash in {axis}: {play:.3f} mm"
    if told.resistance is not None and math.isinf(told.resistance):
        yield "Serpentine: open, a trace of it is broken"
    elif told.resistance is not None:
        yield (
            f"Serpentine: {told.resistance:.3f} ohm, so it is in one piece; its length is not in "
            "the file, so no width follows"
        )


def settings(calibration: Calibration) -> Iterator[tuple[str, str, str, str]]:
    """Key, before, after, and why."""
    for one in calibration.settings:
        after = one.value.replace("least: ", "").replace("nominal: ", "").replace("most: ", "")
        yield one.key, before(calibration, one.key), after, one.why


def before(calibration: Calibration, key: str) -> str:
    """The old value of a key, "-" where there was none."""
    value: object = calibration.process.resolved
    for word in key.split("."):
        value = value.get(word) if hasattr(value, "get") else None
    match value:
        case None:
            return "-"
        case {"least": least, "nominal": nominal, "most": most}:
            return f"{least:.3f} mm, {nominal:.3f} mm, {most:.3f} mm"
        case float() | int():
            return f"{value:g} {'deg' if key == 'bit.angle' else 'mm'}"
    return words.plain(str(value))


def changed(changes: Sequence[Change]) -> Iterator[tuple[str, str, str, str]]:
    """Board, verdict before and after, places that the cut doesn't open."""
    for one in changes:
        yield (
            words.plain(one.name),
            words.state(one.before.value) + words.proviso(one.before, one.unchecked_before),
            words.state(one.after.value) + words.proviso(one.after, one.unchecked_after),
            f"{one.closed_before} -> {one.closed_after}",
        )


def kept(calibration: Calibration) -> Mapping[str, str]:
    """Key -> why it stays."""
    return {key: words.first_up(why) for key, why in calibration.kept.items()}


def at_depth(calibration: Calibration) -> str:
    """Where the width holds; nothing for a beam."""
    if calibration.line.bit.shape == "beam":
        return ""
    return f" at {words.mm(calibration.width.depth)} mm of depth"


def _between(spread: Spread) -> str:
    return f"{words.mm(spread.least)} to {words.mm(spread.most)}"


def _interval(estimate: Estimate) -> str:
    low, high = estimate.interval
    return f"{words.mm(low)} to {words.mm(high)}"
