"""Files to a `Board`: what each file gives, put together and checked against the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec.structs import replace

from checker import plural
from checker.board import Board, CopperLayer, DrawnObjects, GraphicLayer, Note, Outline, Unchecked
from checker.errors import ReadError
from checker.read.density import check_density
from checker.read.disputes import disputed
from checker.read.drawn import MOST_CORNERS, draw, drawn_by_both
from checker.read.drilling import Drilling, read_drilling
from checker.read.edge import HOW_PROFILE, HOW_ROUTED, HOW_UNNAMED, Candidate, choose_edge, cut_out
from checker.read.gerber import TOLERANCE, GerberFile, parse_gerber
from checker.read.gerber.ending import WIDE
from checker.read.jobfile import parse_job
from checker.read.missing import no_copper, refuse_unopened, refuse_unread
from checker.read.netlist import Netlist, largest, parse_netlist
from checker.read.nets import BY_ATTRIBUTES, DrawnLayer, name_nets
from checker.read.note import read_note
from checker.read.outline import centre_lines, contours
from checker.read.parts import read_parts
from checker.read.roles import HINT, identify

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from checker.board import Floats, Part, Rating, Shapes
    from checker.read.drawn import Drawing
    from checker.read.jobfile import JobFile
    from checker.read.package import Package
    from checker.read.roles import Identified

OUTER = ("top", "bottom")  # what a cutter reaches
FAR_OFF = 1.0  # mm by which the job file's size may differ from the outline's


def assemble(
    package: Package,
    layers: Mapping[str, str | Sequence[str]],
    drawn: dict[tuple[str, str], Drawing] | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Board:
    """Read a board; see `checker.read.read_package`."""
    jobs = [parse_job(file.text, file.name) for file in package.files if file.format == "job"]
    items, notes = identify(package.files, jobs, layers)
    notes = [*package.notes, *notes, *(note for job in jobs for note in job.notes)]
    work = _Assembly(items, notes, package.unchecked, {} if drawn is None else drawn)
    if meanwhile is not None:
        work.draw_by_both(meanwhile)
    work.read_copper()
    work.read_holes()
    work.read_edge()
    work.read_negatives()
    for layer in work.layers:
        if layer.side in OUTER:
            check_density(layer.islands, layer.source)
    work.read_nets()
    work.read_ratings()
    work.read_graphics()
    work.read_parts()
    for job in jobs:
        work.compare(job)
    return work.board(package.name)


class _Assembly:
    """The parts of a board as they are found."""

    def __init__(
        self,
        items: list[Identified],
        notes: list[Note],
        unchecked: Sequence[Unchecked],
        drawn: dict[tuple[str, str], Drawing],
    ) -> None:
        self.drawn = drawn
        self.parsed: dict[tuple[str, str], GerberFile | ReadError] = {}
        self.package_left = unchecked
        self.items = items
        self.notes = notes
        self.unchecked: list[Unchecked] = [
            *unchecked,
            *(
                Unchecked(
                    f"{item.promised.label} of {item.file.name}",
                    "the file holds no layer or drill data",
                )
                for item in items
                if item.promised is not None and item.promised.kind != "unused"
            ),
        ]
        self.tolerance = TOLERANCE
        self.layers: list[DrawnLayer] = []
        self.corners = 0
        self.negative: list[tuple[int, Drawing, str]] = []
        self.copper: tuple[CopperLayer, ...] = ()
        self.drilling = Drilling()
        self.outline: Outline | None = None
        self.stray: Outline | None = None
        self.open_edge: tuple[tuple[float, float, float], ...] = ()
        self.crossed_edge: tuple[tuple[float, float], ...] = ()
        self.netlist: Netlist | None = None
        self.nets_from = ""
        self.ties: tuple[tuple[str, ...], ...] = ()
        self.graphics: list[GraphicLayer] = []
        self.parts: list[Part] | None = None
        self.ratings: dict[str, Rating] = {}
        self.unused: set[str] = set()

    def of(self, kind: str) -> list[Identified]:
        return [item for item in self.items if item.role is not None and item.role.kind == kind]

    def draw_by_both(self, meanwhile: Callable[[], None]) -> None:
        """Draw what is not drawn yet, with a second process."""
        files = (item.file for item in self.of("copper"))
        left = [file for file in files if (file.name, file.text) not in self.drawn]
        self.drawn.update(drawn_by_both(left, meanwhile, self._parse_ahead))

    def _parse_ahead(self) -> None:
        """What is read after the copper, as far as it hangs on nothing else."""
        for kind in ("outline", "mask", "legend", "parts"):
            for item in self.of(kind):
                self._parsed(item)

    def read_copper(self) -> None:
        for item, side in _stack(self.of("copper"), self.notes):
            layer = self._copper_layer(item, side)
            if layer is None:
                continue
            if len(layer.islands):
                self.layers.append(layer)
            else:
                self.unused.add(item.file.name)
                self.notes.append(Note(item.file.name, 0, f"draws no copper: no {side} layer"))
        if not self.layers:
            raise no_copper(self.items, [drawing.name for _, drawing, _ in self.negative])
        self._refuse_missing("copper")

    def _refuse_missing(self, kind: str) -> None:
        refuse_unread(self.items, kind)
        refuse_unopened(self.of(kind), self.package_left, kind)

    def _copper_layer(self, item: Identified, side: str) -> DrawnLayer | None:
        """The islands of a layer; None for a negative one, which waits for the board's edge."""
        name, text = item.file.name, item.file.text
        if (name, text) not in self.drawn:
            self.drawn[name, text] = draw(text, name)
        drawing = self.drawn[name, text]
        self.tolerance = max(self.tolerance, drawing.tolerance)
        self.notes += drawing.notes
        self.unchecked += [Unchecked(f"the rest of {name}", doubt) for doubt in drawing.doubts]
        if drawing.negative or (item.role is not None and item.role.negative):
            self.negative.append((len(self.layers), drawing, side))
            return None
        self.notes += [Note(name, 0, remark) for remark in drawing.remarks]
        self.corners += drawing.corners
        if self.corners > MOST_CORNERS:
            expected = f"{MOST_CORNERS} corners in all"
            raise ReadError(name, "layers of copper without bound", expected)
        return DrawnLayer(
            side,
            name,
            drawing.objects,
            drawing.islands,
            drawing.island_of,
            replace(drawing.end, closed=WIDE) if item.file.wide else drawing.end,
        )

    def read_negatives(self) -> None:
        """Layers that show what is cleared: copper is left inside the edge where they are bare."""
        for added, (place, drawing, side) in enumerate(self.negative):
            if self.outline is not None:
                area = self.outline.area
            else:
                box = shapely.total_bounds(np.concatenate([la.islands for la in self.layers]))
                area = shapely.box(*box)
            left = shapely.get_parts(shapely.difference(area, shapely.union_all(drawing.islands)))
            objects = replace(drawing.objects, dark=~drawing.objects.dark)
            layer = DrawnLayer(
                side,
                drawing.name,
                objects,
                shapely.orient_polygons(left[shapely.get_dimensions(left) == 2]),
                np.full(len(objects), -1, np.int64),
                drawing.end,
            )
            self.layers.insert(place + added, layer)
            reach = "the edge" if self.outline is not None else "the box of the other copper"
            told = f"a negative layer: copper is left up to {reach} but where drawn"
            self.notes.append(Note(drawing.name, 0, told))

    def read_holes(self) -> None:
        self._refuse_missing("drill")
        items = self.of("drill")
        self.drilling = read_drilling(items, [layer.islands for layer in self.layers])
        self.notes += self.drilling.notes
        self.unchecked += self.drilling.unchecked
        self.unused |= self.drilling.drawings
        if not self.drilling.holes:
            why = "the drill files drill nothing" if items else "no drill file"
            self.unchecked.append(Unchecked("holes", why))

    def read_edge(self) -> None:
        islands = np.concatenate([layer.islands for layer in self.layers])
        centres = _centres(islands)
        stated = [(item, HOW_PROFILE) for item in self.of("outline")]
        unnamed = [(item, HOW_UNNAMED) for item in self.items if item.role is None]
        candidates = []
        for item, how in [*sorted(stated, key=lambda pair: pair[0].rank), *unnamed]:
            file = self._try(item, "board edge" if item.role else item.file.name)
            if file is not None:
                ways = centre_lines(file.objects), contours(file.objects)
                candidates.append(Candidate(item.file.name, ways, how, item.rank <= 2))
        routed = self.drilling.contours
        for source in dict.fromkeys(source for source, _ in routed):
            lines = np.array([line for name, line in routed if name == source], object)
            candidates.append(Candidate(source, (lines,), HOW_ROUTED))
        drilled = [(*h.path[0], h.diameter) for h in self.drilling.holes if not h.is_slot]
        chosen = choose_edge(candidates, centres, np.array(drilled).reshape(-1, 3), islands)
        self.outline, self.stray = chosen.outline, chosen.stray
        self.crossed_edge = chosen.crossed
        self.open_edge = tuple((gap.x, gap.y, gap.size) for gap in chosen.open)
        self.notes += chosen.notes
        self.unchecked += chosen.unchecked
        self.unchecked += [
            Unchecked(item.file.name, f"not identified and left out; {HINT}")
            for item, _ in unnamed
            if item.file.name != chosen.source
        ]
        self.unused |= {item.file.name for item, _ in stated} - {chosen.source}
        if self.outline is not None:
            self.outline, notes = cut_out(self.outline, routed)
            self.notes += notes

    def read_nets(self) -> None:
        netlists = [parse_netlist(i.file.text, i.file.name) for i in self.of("netlist")]
        self.netlist = largest(netlists)
        for netlist in netlists:
            self.notes += netlist.notes
            if netlist is not self.netlist:
                self.unused.add(netlist.name)
                self.notes.append(Note(netlist.name, 0, "a second netlist; not used"))
        pins = self.netlist.pins(len(self.layers)) if self.netlist is not None else ()
        points = self.netlist.points if self.netlist is not None else ()
        radii = np.array([point.hole / 2 for point in points])
        name = self.netlist.name if self.netlist is not None else ""
        nets = name_nets(self.layers, self.drilling.holes, pins, radii, name, TOLERANCE)
        self.notes += nets.notes
        if pins and nets.source == BY_ATTRIBUTES:
            self.notes += disputed(self.layers, nets, pins, radii, name)
        self.nets_from, self.ties = nets.source, nets.ties
        self.copper = tuple(
            CopperLayer(
                layer.side,
                layer.source,
                layer.objects,
                layer.islands,
                number,
                name,
                layer.island_of,
                layer.end,
            )
            for layer, number, name in zip(self.layers, nets.number, nets.name, strict=True)
        )

    def read_ratings(self) -> None:
        items = self.of("note")
        if items:
            names = {name for layer in self.copper for name in layer.net_name if name}
            self.ratings = read_note(items[0].file.text, items[0].file.name, names)
        for item in items[1:]:
            self.unused.add(item.file.name)
            self.notes.append(Note(item.file.name, 0, "a second board note; not used"))

    def read_graphics(self) -> None:
        for kind in ("mask", "legend"):
            for item in self.of(kind):
                file = self._try(item, f"{kind} of {item.file.name}")
                if file is not None and item.role is not None:
                    self.graphics.append(
                        GraphicLayer(kind, item.role.side, item.file.name, _drawn_later(file))
                    )

    def read_parts(self) -> None:
        for item in self.of("parts"):
            file = self._try(item, f"parts of {item.file.name}")
            if file is None or item.role is None:
                continue
            try:
                parts, notes = read_parts(file.objects, file.mounts, item.role.side, item.file.name)
            except ReadError as error:
                self.unchecked.append(Unchecked(f"parts of {item.file.name}", str(error)))
                continue
            self.notes += notes
            if not parts and file.operations:
                self.unused.add(item.file.name)
                self.notes.append(Note(item.file.name, 0, "names no part: not a component layer"))
            else:
                self.parts = [*(self.parts or ()), *parts]

    def _try(self, item: Identified, what: str) -> GerberFile | None:
        """Parse a file that the board can be checked without."""
        file = self._parsed(item)
        if isinstance(file, ReadError):
            self.unchecked.append(Unchecked(what, str(file)))
            return None
        self.notes += file.notes
        return file

    def _parsed(self, item: Identified) -> GerberFile | ReadError:
        name, text = item.file.name, item.file.text
        if (name, text) not in self.parsed:
            try:
                self.parsed[name, text] = parse_gerber(text, name)
            except ReadError as error:
                self.parsed[name, text] = error
        return self.parsed[name, text]

    def compare(self, job: JobFile) -> None:
        """Check the board against what the job file says of it."""
        count = len(self.of("copper"))
        if job.layer_count > count:
            self.unchecked.append(
                Unchecked(
                    plural.count(job.layer_count - count, "copper layer"),
                    f"{job.name} counts {job.layer_count} copper layers, "
                    f"{count} {'is' if count == 1 else 'are'} there",
                )
            )
        if job.size is not None and self.outline is not None:
            x0, y0, x1, y1 = self.outline.area.bounds
            sizes = sorted(job.size), sorted((x1 - x0, y1 - y0))
            if max(abs(a - b) for a, b in zip(*sizes, strict=True)) > FAR_OFF:
                text = (
                    f"says the board is {job.size[0]:g} x {job.size[1]:g} mm, the edge is "
                    f"{x1 - x0:.2f} x {y1 - y0:.2f} mm"
                )
                self.notes.append(Note(job.name, 0, text))

    def board(self, name: str) -> Board:
        """All that was found."""
        sides = {layer.source: layer.side.replace(" ", "") for layer in self.copper}
        sides |= dict.fromkeys(self.unused, "not used")
        return Board(
            name=name,
            sources=tuple((i.file.name, sides.get(i.file.name, i.label)) for i in self.items),
            copper=self.copper,
            holes=tuple(self.drilling.holes),
            outline=self.outline,
            graphics=tuple(self.graphics),
            pins=self.netlist.pins(len(self.layers)) if self.netlist is not None else (),
            nets_from=self.nets_from,
            notes=tuple(dict.fromkeys(self.notes)),
            unchecked=tuple(self.unchecked),
            tolerance=self.tolerance,
            ties=self.ties,
            parts=None if self.parts is None else tuple(self.parts),
            ratings=self.ratings,
            stray_outline=self.stray,
            open_edge=self.open_edge,
            crossed_edge=self.crossed_edge,
        )


def _centres(islands: Shapes) -> Floats:
    """The point of each island that is nearest to its middle, (n, 2).

    The very middle of a pour may lie in a cut-out that the pour goes round.
    """
    x0, y0, x1, y1 = shapely.bounds(islands).T
    middles = shapely.points((x0 + x1) / 2, (y0 + y1) / 2)
    ends: Floats = shapely.get_coordinates(shapely.shortest_line(islands, middles))
    return ends[::2]


def _drawn_later(file: GerberFile) -> Callable[[], DrawnObjects]:
    return lambda: file.objects


def _stack(items: list[Identified], notes: list[Note]) -> list[tuple[Identified, str]]:
    """Copper files from top to bottom with the names of their sides."""
    roles = [(item, item.role) for item in items if item.role is not None]
    top = [item for item, role in roles if role.side == "top"]
    bottom = [item for item, role in roles if role.side == "bottom"]
    inner = [(item, role) for item, role in roles if role.side == "inner"]
    number = {id(item): role.position or role.inner + 1 for item, role in inner}
    inner.sort(key=lambda pair: (number[id(pair[0])], pair[0].file.name))
    if len(set(number.values())) < len(inner) or (len(inner) > 1 and min(number.values()) == 1):
        names = ", ".join(item.file.name for item, _ in inner)
        notes.append(Note(inner[0][0].file.name, 0, f"order of inner layers not stated: {names}"))
    return [
        *((item, "top") for item in top),
        *((item, f"inner {n}") for n, (item, _) in enumerate(inner, 1)),
        *((item, "bottom") for item in bottom),
    ]
