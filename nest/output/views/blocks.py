"""Tables and texts that several views of a sheet share: what it is, cautions, key, jobs, how figures are taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.lengths import lengths_of
from nest.output.panels import ONE, Block, Cell, fields, line_of, paragraphs, table
from nest.output.sheet_drawing import Item
from nest.output.text_fit import LEADING
from nest.output.views.numbering import numbered_pieces
from nest.output.words import one_line

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from nest.domain.job import Row
    from nest.domain.plan import CutStage, PlacedPiece, PlannedSheet
    from nest.domain.room import Room
    from nest.output.lengths import Lengths
    from nest.output.panels import Sample
    from nest.output.patterns import Pattern
    from nest.output.views.facing import Measure
    from nest.output.views.numbering import NumberedPiece

JobWords = tuple[str, str, str]
"""Customer, title and press of a job."""
WIDTH = 38.0 * ONE.table
"""Width of running text beside a drawing, mm on paper."""
KNIFE = "Knife and guillotine: guards in place, hands clear of the blade, cut-resistant glove on the hand that holds."
POLYMER = "Uncured polymer harms skin: wear gloves, keep trimmings and dust off skin, wash before eating."
RAW = "Raw sheets: print side (mask) up, protective film on, under yellow light only; keep them flat."
RAW_FROM_BASE = (
    "Raw sheets: protective film on, on a clean soft bed when the mask faces down, under yellow light only; keep them "
    "flat."
)
RULES = (
    "Local rules, the material's data sheet, the machine's manual and the room's qualified safety person come first; "
    "only trained people do this."
)
SHORT_CAUTION = (
    "CAUTION: blades cut, uncured polymer harms skin; local rules, data sheets, manuals and the room's safety person "
    "come first."
)
_KEY: tuple[tuple[Sample, str], ...] = (
    ("datum", "corner to measure from"),
    ("raw", "raw cut, number in a square"),
    ("finish", "finish cut, number in a rounded box"),
    ("piece", "piece, cut to this edge"),
    ("image", "image inside its floor border"),
    ("keep-out", "keep-out: clamp, tape, trim"),
    ("laser", "the laser stays inside"),
    ("lead", "lead edge: goes into the clamp"),
    ("arrow", "around, from lead to tail of the piece"),
    ("kept", "rest to keep"),
    ("scrap", "rest to scrap"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a guide is about: a pattern of equal sheets, its room, the plan's short name and its warnings.

    ``jobs`` holds what the rows tell of each job, ``numbers`` those of the pieces, the same on every guide.
    """

    pattern: Pattern
    room: Room
    jobs: Mapping[str, JobWords]
    key: str
    warnings: Sequence[str]
    lengths: Lengths
    numbers: tuple[NumberedPiece, ...]

    @property
    def times(self) -> str:
        """How many sheets are cut alike, as it stands behind a title."""
        count = len(self.pattern.sheets)
        return f" × {count}" if count > 1 else ""

    def items(self, seen: PlannedSheet, plates: Sequence[int]) -> list[Item]:
        """Return the pieces to draw of a sheet as it lies, whose plates are these of the pattern's first sheet."""
        first = self.pattern.first
        found = []
        for number, plate, index in self.numbers:
            if plate in plates:
                piece = seen.plates[plates.index(plate)].pieces[index]
                copies = self.pattern.copies[plate][index]
                found.append(Item(number=number, piece=piece, copies=copies, plate=first.plates[plate].id))
        return found

    def numbered(self, plate: int) -> list[tuple[int, int, PlacedPiece]]:
        """Return number, index and piece of one plate's pieces as the plan has them."""
        pieces = self.pattern.first.plates[plate].pieces
        return [(number, index, pieces[index]) for number, at, index in self.numbers if at == plate]


def job_words(rows: Sequence[Row]) -> dict[str, JobWords]:
    """Return customer, title and press of each job, the first that its rows state."""
    told: dict[str, JobWords] = {}
    for row in rows:
        before = told.get(row.job, ("", "", ""))
        told[row.job] = (before[0] or row.customer, before[1] or row.title, before[2] or row.press)
    return told


def subject_of(
    pattern: Pattern, room: Room, jobs: Mapping[str, JobWords], key: str = "", warnings: Sequence[str] = ()
) -> Subject:
    """Return the subject of a pattern's guides; ``jobs`` as `job_words` gives them."""
    return Subject(pattern=pattern, room=room, jobs=jobs, key=key, warnings=warnings, lengths=lengths_of(room),
                   numbers=tuple(numbered_pieces(pattern)))  # fmt: skip


def warning_blocks(subject: Subject) -> list[Block]:
    """Return the warnings as a block, where there are any."""
    return [paragraphs("WARNING", subject.warnings, WIDTH)] if subject.warnings else []


def caution_block(*texts: str) -> Block:
    """Return the cautions of a view; that local rules come first stands in every one."""
    return paragraphs("Caution", [*texts, RULES], WIDTH)


def sheet_pairs(subject: Subject) -> list[tuple[str, str]]:
    """Return what a sheet is and where it is taken from."""
    sheet, times = subject.pattern.first, len(subject.pattern.sheets)
    pairs = [("Sheet", f"{sheet.id} × {times}" if times > 1 else sheet.id)]
    if times > 1:
        pairs.append(("Sheets", ", ".join(other.id for other in subject.pattern.sheets)))
        pairs.append(("", f"ids on this page are those of {sheet.id}"))
    pairs += [
        ("Plan", subject.key),
        ("Take", f"{sheet.source.kind.value} {sheet.source.ref}"),
        ("Material", sheet.material),
        ("Lot", sheet.lot or "not stated"),
        ("Use by", sheet.expiry or "not stated"),
        ("Size", subject.lengths.size(sheet.across_mm, sheet.around_mm)),
    ]
    return pairs


def told_fields(title: str, pairs: Sequence[tuple[str, str]]) -> Block:
    """Return named values as a block, foreign text on one line."""
    return fields(title, [(name, one_line(value)) for name, value in pairs], WIDTH)


def key_block(samples: Collection[Sample]) -> Block:
    """Return what the lines and areas of a drawing mean, those in ``samples``."""
    lines = tuple(
        line_of(LEADING * ONE.table * 1.1, Cell(x=6.2 * ONE.table, words=words), sample=sample)
        for sample, words in _KEY if sample in samples
    )  # fmt: skip
    return Block(title="Lines and areas", lines=lines, whole=True)


def datum_words(measure: Measure) -> str:
    """Return from where figures are taken, in a sentence."""
    return f"Figures run from the {measure.corner.upper()} corner as you look at the drawing (black triangle)."


def jobs_block(subject: Subject, jobs: Collection[str]) -> list[Block]:
    """Return customer, title and press of jobs, where the rows state any."""
    told = {job: subject.jobs[job] for job in sorted(jobs) if any(subject.jobs.get(job, ()))}
    lines = [[one_line(job), *map(one_line, words)] for job, words in told.items()]
    return [table("Jobs", ["job", "customer", "title", "press"], lines, right=frozenset())] if lines else []


def count_cuts(sheet: PlannedSheet, stage: CutStage) -> int:
    """Return how many cuts of a stage a sheet has."""
    return sum(cut.stage is stage for cut in sheet.cuts)
