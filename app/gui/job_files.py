"""Opening and saving: jobs, photos and drawings from dialogs, drops and the command line."""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.document.job import Job, OutlineChoice, PhotoFacts
from app.gui.asking import ask_place, file_name, saved_words
from app.gui.canvas.photo_scene import ShownPhoto, shown_photo
from app.gui.document import Document
from app.gui.errors import sentence_of
from app.gui.worker import Progress, Stop, Worker

PHOTOS = (".jpg", ".jpeg", ".png", ".heic", ".heif", ".tif", ".tiff", ".webp", ".avif", ".bmp")
DRAWINGS = (".dxf", ".svg", ".json")
JOB = ".blankwright"
JOBS = "Blankwright jobs"
JOBS_FILTER = f"{JOBS} (*{JOB})"


class JobFiles(QObject):
    """What goes between the job and the disk.

    Attributes
    ----------
    photo_opened : Signal
        A photo was decoded and is the job's now.
    job_opened : Signal
        Another job is open.
    drawing_asked : Signal
        A drawing's path that was dropped or opened.
    complained : Signal
        A sentence about what went wrong; the open job is as it was.
    saved : Signal
        A sentence that says where the job is safe.
    """

    photo_opened = Signal(object)
    job_opened = Signal()
    drawing_asked = Signal(object)
    complained = Signal(str)
    saved = Signal(str)

    def __init__(self, document: Document, worker: Worker, window: QWidget) -> None:
        super().__init__(window)
        self._document, self._worker, self._window = document, worker, window
        self._folder = str(Path.home())

    def open_path(self, path: Path) -> None:
        """Open whatever a path names."""
        suffix = path.suffix.lower()
        self._folder = str(path.parent)
        if suffix == JOB:
            self.open_job(path)
        elif suffix in DRAWINGS:
            self.drawing_asked.emit(path)
        else:
            self.open_photo(path)

    def open_photo(self, path: Path, dress: Callable[[Job], Job] = lambda job: job) -> None:
        """Read and decode a photo on the worker; only a good one changes the job.

        Parameters
        ----------
        path : Path
            The picture.
        dress : callable
            Adds what else is known about it to the job.
        """

        def task(progress: Progress, stop: Stop) -> tuple[bytes, ShownPhoto]:
            from app.files.atomic import read_bytes
            from calibration.photo import photo_from_bytes

            data = read_bytes(path)
            return data, shown_photo(photo_from_bytes(data, path.name))

        def done(answer: tuple[bytes, ShownPhoto]) -> None:
            data, photo = answer
            job = self._document.job
            named = path.stem if job.name == Job().name else job.name
            facts = PhotoFacts(name=path.name, data=data)
            self.photo_opened.emit(photo)
            self._document.change(dress(replace(job, photo=facts, name=named)), "Open a photo")

        self._worker.start(
            task, done=done, failed=lambda error: self._complain(error, path), lane="open"
        )

    def open_sample(self) -> None:
        """Open the sample photo with what is known about it."""
        if not self.may_leave():
            return

        def task(progress: Progress, stop: Stop) -> tuple[Path, Callable[[Job], Job]]:
            return sample()

        def done(found: tuple[Path, Callable[[Job], Job]]) -> None:
            self._document.begin(Job(unit=self._document.job.unit))
            self.job_opened.emit()
            self.open_photo(*found)

        self._worker.start(task, done=done, failed=self._complain, lane="sample")

    def open_job(self, path: Path) -> None:
        """Open a job; the one at hand is asked about first."""
        from app.files.job_file import read_job

        if not self.may_leave():
            return
        try:
            job = read_job(path)
        except Exception as error:  # noqa: BLE001  (any damage: the open job has to stay)
            self._complain(error, path)
            return
        self._document.begin(job, path)
        self.job_opened.emit()

    def new_job(self) -> None:
        """Begin afresh; the job at hand is asked about first."""
        if self.may_leave():
            self._document.begin(Job(unit=self._document.job.unit))
            self.job_opened.emit()

    def save(self) -> bool:
        """Save the job where it belongs; asks where when it is new. Return whether it is safe."""
        path = self._document.path
        return self.save_as() if path is None else self.save_to(path)

    def save_as(self) -> bool:
        """Ask where, and save."""
        named = f"{file_name(self._document.job.name, 'job')}{JOB}"
        start = self._document.path or Path(self._folder) / named
        path = ask_place(self._window, "Save the job", start, JOBS)
        return path is not None and self.save_to(path)

    def save_to(self, path: Path) -> bool:
        """Write the job; on failure say why, and keep it open."""
        from app.files.job_file import write_job

        try:
            write_job(path, self._document.job)
        except Exception as error:  # noqa: BLE001  (whatever it is, the job has to stay open)
            self._complain(error, path)
            return False
        self._document.saved_as(path)
        self.saved.emit(saved_words(path))
        return True

    def ask_mat(self) -> None:
        """Ask where, and write the mat to print, for the job's paper where there is one."""
        from app.document.mat import mat_drawing
        from app.document.paper import paper_named
        from app.exports.pdf import write_page
        from calibration.mat import MATS, mat_layout

        paper = self._document.job.pattern.paper
        paper = paper if paper in MATS else "letter"
        start = Path(self._folder) / f"mat {paper}.pdf"
        path = ask_place(self._window, "Save the mat to print", start, "PDF")
        if path is None:
            return
        try:
            drawing = mat_drawing(mat_layout(paper), datetime.date.today())
            write_page(drawing, path, paper=paper_named(paper))
        except Exception as error:  # noqa: BLE001  (whatever it is, the window goes on)
            self._complain(error, path)
            return
        self.saved.emit(f"{saved_words(path)} Print it at 100 %.")

    def ask_photo(self) -> None:
        """Ask for a photo and open it."""
        kinds = " ".join(f"*{suffix}" for suffix in PHOTOS)
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open a photo", self._folder, f"Photos ({kinds});;All files (*)"
        )
        if name:
            self._folder = str(Path(name).parent)
            self.open_photo(Path(name))

    def ask_any(self) -> None:
        """Ask for a job, a photo or a drawing and open it."""
        kinds = " ".join(f"*{suffix}" for suffix in (JOB, *PHOTOS, *DRAWINGS))
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open", self._folder, f"Jobs, photos, drawings ({kinds});;{JOBS_FILTER}"
        )
        if name:
            self.open_path(Path(name))

    def may_leave(self) -> bool:
        """Return whether the job at hand may be put away; unsaved changes are asked about."""
        job = self._document.job
        if self._document.is_saved or job == Job(unit=job.unit):
            return True
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self._window,
            "Keep your changes?",
            f"“{self._document.name}” has changes that are not saved.",
            buttons.Save | buttons.Discard | buttons.Cancel,
            buttons.Save,
        )
        if answer == buttons.Save:
            return self.save()
        return bool(answer == buttons.Discard)

    def keep_copy(self) -> str:
        """Save a copy of the job after a fault; return where, or "" if that failed too."""
        from app.files.data_folder import data_folder
        from app.files.job_file import write_job

        folder = data_folder() / "recovered"
        path = folder / f"{time.strftime('%Y-%m-%d %H-%M-%S')}{JOB}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            write_job(path, self._document.job)
        except Exception:  # noqa: BLE001  (already telling of a fault; a second one adds nothing)
            return ""
        return str(path)

    def _complain(self, error: Exception, path: Path | None = None) -> None:
        of_what = "" if path is None else f"{path.name}: "
        self.complained.emit(f"{of_what}{sentence_of(error)}")


def sample() -> tuple[Path, Callable[[Job], Job]]:
    """Return the sample photo, and what adds to a job all that is known about it."""
    from app.cli.demo import SAMPLE_FAMILY, SAMPLE_REFERENCE, SAMPLE_THICKNESS, sample_path
    from app.document.lengths import parse_length_mm
    from calibration.references import LineReference, paper_reference

    line = LineReference(length_mm=parse_length_mm(SAMPLE_REFERENCE))
    thickness_mm = parse_length_mm(SAMPLE_THICKNESS)

    def dress(job: Job) -> Job:
        assert job.photo is not None
        return replace(
            job,
            photo=replace(job.photo, references=(line, paper_reference("letter"))),
            thickness_mm=thickness_mm,
            name="Sample forging",
            outline=OutlineChoice(family=SAMPLE_FAMILY),
        )

    with ExitStack() as stack:  # the sample is a plain file, there after the stack is closed
        return sample_path(stack), dress
