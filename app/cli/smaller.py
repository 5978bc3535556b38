"""``blankwright smaller``: two traces of one piece, of which the smaller rules."""

from __future__ import annotations

from pathlib import Path

from app.cli.options import check_apart, check_ending, one_of
from app.cli.terminal import say
from app.document.two_traces import smaller_of
from app.document.wording import trust_sentences
from app.files.atomic import make_folder
from app.files.billet_file import read_billet, write_billet

TURNED = {"yes": True, "no": False, "auto": None}


def run_smaller(first: Path, second: Path, *, out: Path, turned: str) -> int:
    """Write what two traces have in common; return the exit status."""
    over = TURNED[one_of(turned, tuple(TURNED), "--turned")]
    check_ending(out, (".json",))
    check_apart(out, (first, second))
    billet, notes = smaller_of(read_billet(first), read_billet(second), turned=over)
    make_folder(out.parent)
    write_billet(out, billet, notes)
    length_mm, width_mm = billet.size_mm()
    say(f"piece     {length_mm:.1f} x {width_mm:.1f} mm, {len(billet.shape.interiors)} holes")
    for sentence in trust_sentences(billet):
        say(f"trust     {sentence}")
    for note in notes:
        say(f"note      {note}")
    say(f"written   {out}")
    return 0
