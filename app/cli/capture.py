"""``blankwright capture``: a photo becomes a billet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from app.cli.options import (
    ANOTHER_NAME,
    check_apart,
    check_ending,
    one_of,
    pixels,
    sheet_size,
)
from app.cli.steel_options import pen_of, sizes_of
from app.cli.terminal import say, shown_progress
from app.cli.traced_outline import RESULT_ENDINGS, AskedTrace, write_traced
from app.cli.traced_outline import summary as outline_summary
from app.document.flow import capture_of
from app.document.job import Edge, Job, PhotoFacts, Subject
from app.document.lengths import parse_positive_mm, parse_size_mm
from app.document.print_scale import stretch_for
from app.document.wording import budget_lines, trust_sentences
from app.files.atomic import make_folder, read_bytes, write_atomically
from app.files.billet_file import MeasuredModel, write_billet
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    Reference,
)
from geometry.errors import InputError

if TYPE_CHECKING:
    from calibration.capture import Capture


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The command's options as typed."""

    photo: Path
    references: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    sheet: str = ""
    rectangle: str = ""
    inside: str = ""
    edge: str = "inner"
    subject: str = "trace"
    thickness: str = ""
    cross: str = ""
    mat: bool = False
    bar_across: str = ""
    bar_up: str = ""
    sizes: tuple[str, ...] = ()
    length: str = ""
    width: str = ""
    correct: bool = False
    pen: str = ""
    pen_offset: str = ""


def run_capture(
    asked: Asked, *, out: Path | None, overlay: Path | None, outline: AskedTrace
) -> int:
    """Measure a photo, write the billet, the outline and the picture; return the exit status."""
    job = job_of(asked)
    _check_results(asked.photo, out, overlay, outline)
    if out is not None:
        make_folder(out.parent)
    with shown_progress("measuring the sheet") as progress:
        found = capture_of(job, progress=progress)
    if out is not None:
        write_billet(out, found.billet, found.notes, measured=MeasuredModel.of(found))
    if overlay is not None:
        write_overlay(job, found, overlay)
    traced = None if outline.out is None else write_traced(outline, found, out)
    for line in (*summary(found), *(outline_summary(traced, found.billet) if traced else ())):
        say(line)
    for path in (out, outline.out, overlay):
        if path is not None:
            say(f"written   {path}")
    return 0


def _check_results(
    photo: Path, out: Path | None, overlay: Path | None, outline: AskedTrace
) -> None:
    """Refuse results that are none, or would be written over the photo or each other."""
    outline.check()
    if out is None and outline.out is None:
        raise InputError(
            "no file to write was given.",
            where="--out",
            remedy="Give --out BILLET.json, or --outline OUTLINE.json for the piece as a knife.",
        )
    named = (
        ("--out", out, (".json",)),
        ("--outline", outline.out, RESULT_ENDINGS),
        ("--overlay", overlay, (".png", ".jpg", ".jpeg")),
    )
    taken: list[Path] = []
    for where, path, endings in named:
        if path is None:
            continue
        check_ending(path, endings, where)
        check_apart(path, (photo,), where)
        if any(path.absolute() == other.absolute() for other in taken):
            raise InputError(f"{path} is another result too.", where=where, remedy=ANOTHER_NAME)
        taken.append(path)


def job_of(asked: Asked) -> Job:
    """Return a job with the photo and what was told about it; InputError for a bad option."""
    inside = pixels(asked.inside, 2, "--inside") if asked.inside else None
    edge = cast("Edge", one_of(asked.edge, ("inner", "middle", "outer"), "--edge"))
    subject = cast("Subject", one_of(asked.subject, ("trace", "steel"), "--subject"))
    if subject == "steel" and edge != "inner":
        raise InputError(
            "the photo shows the steel itself: no ink has a side.",
            where="--edge",
            remedy="Leave it out, or give --subject trace.",
        )
    photo = PhotoFacts(
        name=asked.photo.name,
        data=read_bytes(asked.photo),
        references=references_of(asked),
        inside_px=(inside[0], inside[1]) if inside else None,
        edge=edge,
        subject=subject,
        sizes=sizes_of(asked.sizes, asked.length, asked.width),
        correct_offset=asked.correct,
        pen=pen_of(asked.pen, asked.pen_offset, edge),
    )
    thickness = asked.thickness
    return Job(
        name=asked.photo.stem,
        photo=photo,
        thickness_mm=parse_positive_mm(thickness, where="--thickness") if thickness else None,
    )


def references_of(asked: Asked) -> tuple[Reference, ...]:
    """Return what was said to be of known size.

    Raises
    ------
    InputError
        If nothing was said, or a line was pointed at without its length.
    """
    lengths = [parse_positive_mm(text, where="--reference") for text in asked.references]
    if len(asked.lines) > len(lengths):
        raise InputError(
            "a line without its length.", where="--line", remedy="Give one --reference for each."
        )
    found: list[Reference] = []
    for index, length_mm in enumerate(lengths):
        ends = None
        if index < len(asked.lines):
            x1, y1, x2, y2 = pixels(asked.lines[index], 4, "--line")
            ends = ((x1, y1), (x2, y2))
        found.append(LineReference(length_mm=length_mm, ends_px=ends))
    if asked.rectangle:
        width_mm, height_mm = parse_size_mm(asked.rectangle, where="--rectangle")
        found.append(RectangleReference(width_mm=width_mm, height_mm=height_mm))
    if asked.cross:
        first_mm, second_mm = parse_size_mm(asked.cross, where="--cross")
        found.append(CrossReference(first_mm=first_mm, second_mm=second_mm))
    if asked.mat or asked.bar_across or asked.bar_up:
        found.append(mat_of(asked))
    if asked.sheet:
        found.append(sheet_size(asked.sheet))
    if not found:
        raise InputError(
            "nothing of known size was given.",
            remedy="Give --reference with the length of the drawn line, or --sheet, --rectangle, "
            "--cross or --mat.",
        )
    return tuple(found)


def mat_of(asked: Asked) -> MatReference:
    """Return the printed mat, with what its bars measure; InputError for bars without a mat."""
    from calibration.mat import BAR_MM

    if not asked.mat:
        raise InputError(
            "the bars of a mat are given without the mat.",
            where="--bar-across" if asked.bar_across else "--bar-up",
            remedy="Give --mat too.",
        )
    bars = (("--bar-across", asked.bar_across), ("--bar-up", asked.bar_up))
    printed_x, printed_y = (
        1.0 / stretch_for(parse_positive_mm(text, where=where) / BAR_MM, where) if text else None
        for where, text in bars
    )
    return MatReference(printed_x=printed_x, printed_y=printed_y)


def summary(found: Capture) -> list[str]:
    """Return what was measured and how far to trust it, a line each."""
    shape = found.billet.shape
    length_mm, width_mm = found.billet.size_mm()
    lines = [f"piece     {length_mm:.1f} x {width_mm:.1f} mm, {len(shape.interiors)} holes"]
    lines += [f"trust     {sentence}" for sentence in trust_sentences(found.billet)]
    lines += [f"budget    {line}" for line in budget_lines(found.budget)]
    for item in found.calibration.found:
        sizes = " x ".join(f"{size:.2f}" for size in item.measured_mm)
        lines.append(
            f"reference {item.name}: measures {sizes} mm, off by {item.residual_mm:.2f} mm"
        )
    return lines + [camera(found)] + [f"note      {note}" for note in found.notes]


def camera(found: Capture) -> str:
    """Return the scale at the piece and how the camera was held, one line."""
    calibration = found.calibration
    x_px, y_px = found.contour.outer_px.mean(axis=0).tolist()
    pitch_mm = calibration.map.mm_per_px((x_px, y_px))
    known = calibration.tilt_known
    tilt = f"tilted {calibration.tilt_deg:.1f} degrees" if known else "tilt unknown"
    height_mm = calibration.height_mm
    height = "" if height_mm is None else f", its lens {height_mm:.0f} mm above the sheet"
    return f"scale     {pitch_mm:.4f} mm a pixel at the piece; camera {tilt}{height}"


def write_overlay(job: Job, found: Capture, path: Path) -> None:
    """Write the picture that shows what was understood."""
    import io

    from PIL import Image

    from calibration.overlay import overlay_picture
    from calibration.photo import photo_from_bytes

    assert job.photo is not None
    picture = overlay_picture(photo_from_bytes(job.photo.data, job.photo.name), found)
    buffer = io.BytesIO()
    jpeg = path.suffix.lower() in {".jpg", ".jpeg"}
    Image.fromarray(picture).save(buffer, "JPEG" if jpeg else "PNG", quality=92)
    make_folder(path.parent)
    write_atomically(path, buffer.getvalue())
