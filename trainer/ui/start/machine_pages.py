"""The machine's side in the start window: setting up the camera, the check, a clip from disk, settings."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Sequence

from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.languages import AUTO, LANGUAGES
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.file_pages import CLIPS, file_page
from trainer.ui.start.hints import in_window
from trainer.ui.start.page import Button, Buttons, Choice, Element, Goes, Next, Opens, Page, Table, Words
from trainer.ui.start.practice_pages import stroke_table

if TYPE_CHECKING:
    from trainer.app.camera_setup import CameraSetupResult
    from trainer.camera_setup.findings import Finding
    from trainer.worker import Progress

SLOW_MOTION_FPS = (60, 120, 240, 480, 960)  # common of phones, from memory


def setup(desk: StartDesk) -> CameraSetupResult:
    """The guided window, as the command `setup`."""
    from trainer.app.camera_setup import CameraSetupRequest, set_up_camera
    from trainer.ui.camera_setup.setup_view import SetupView

    context = desk.own()
    hand = context.settings.player.handedness if desk.student is not None else None
    request = CameraSetupRequest(context, handedness=hand, level=desk.level_by_hand)
    with desk.devices(context.settings, SetupView(desk.view.theme, in_window)) as devices:
        result = set_up_camera(request, devices, desk.openers(), desk.clock)
    desk.reporter.take()
    if not result.findings:
        raise UsageError(result.words, context.settings.camera.called, texts.NO_PICTURE_TODO)
    return result


def check_page(desk: StartDesk) -> Page:
    """What is tried, beside a bar."""
    from trainer.app.checkup import check_everything

    context, openers = desk.own(), desk.openers()
    desk.camera.close()

    def work(told: Progress) -> list[Any]:
        found = []
        for finding in check_everything(context, openers, desk.clock):
            told.tell(None, finding.title)
            found.append(finding)
        return found

    return findings_page(desk.run(texts.CHECKING, work))


def findings_page(found: Sequence[Finding]) -> Page:
    """Each with what to do."""
    rows = tuple((one.state_words, one.title, one.words) for one in found)
    return Page(texts.CHECK_TITLE, (Table(texts.CHECK_HEADS, rows),))


def clip_page(desk: StartDesk, folder: Path | None = None) -> Page:
    return file_page(desk, texts.PICK_CLIP, CLIPS, lambda path: judge_clip(desk, path), folder)


def judge_clip(desk: StartDesk, path: Path, recorded_fps: float | None = None) -> Next:
    """As the command `analyse`; beside a bar, and it can be stopped. recorded_fps: of slow motion, None: as it says."""
    from contextlib import contextmanager

    from trainer.app.analyse import analyse_clip
    from trainer.app.clip_pace import SlowMotion

    settings = desk.own().settings

    def work(told: Progress) -> Any:
        @contextmanager
        def progress(_: str, frames: int | None) -> Any:
            seen = 0

            def step() -> None:
                nonlocal seen
                seen += 1
                told.tell(min(1.0, seen / frames) if frames else None)

            yield step

        return analyse_clip(path, settings, progress, recorded_fps)

    try:
        report, _ = desk.run(texts.READING_CLIP, work)
    except SlowMotion as slow:
        words = slow.what
        return Opens(lambda: _slow_motion_page(desk, path, words), over=1)
    return Opens(lambda: clip_report_page(desk, path, report, recorded_fps), over=1)


def _slow_motion_page(desk: StartDesk, path: Path, words: str) -> Page:
    """Asks what the clip does not say."""

    def recorded(fps: int) -> Button:
        return Button(texts.RECORDED_AT.format(fps=fps), lambda _: judge_clip(desk, path, fps))

    buttons = Buttons(tuple(map(recorded, SLOW_MOTION_FPS)))
    return Page(printable(path.name), (Words(words), Words(texts.RECORDED_AT_ASK), buttons))


def clip_report_page(desk: StartDesk, path: Path, report: Any, recorded_fps: float | None) -> Page:
    from trainer.app.review import ReviewRequest
    from trainer.ui.start.stroke_pages import review

    body: list[Element] = []
    if report.strokes:
        request = ReviewRequest(desk.own(), (path,), recorded_fps=recorded_fps)
        see = Button(texts.SEE_CLIP, lambda _: review(desk, request), look="large")
        body = [Buttons((see,), columns=1), stroke_table(report.strokes)]
    body += [Words(line, "soft") for line in (*report.warnings, texts.CLIP_NOT_KEPT)]
    return Page(texts.CLIP_TITLE.format(name=report.name, strokes=texts.strokes(len(report.strokes))), tuple(body))


def settings_page(desk: StartDesk) -> Page:
    """What people change; everything else stays in the files."""
    from trainer.app.start.cameras import camera_choices

    settings = desk.context(None).settings
    numbers = camera_choices(settings.camera.source)
    options = tuple((n, texts.camera_called(n)) for n in numbers)

    choices = {
        "camera.source": Choice("camera", texts.CAMERA, options, str(settings.camera.source)),
        "camera.view": Choice("view", texts.VIEW, texts.VIEWS, settings.camera.view),
        "sound.volume": Choice("volume", texts.VOLUME, texts.VOLUMES, _nearest(settings.sound.volume, texts.VOLUMES)),
        "sound.backend": Choice("backend", texts.BACKEND, texts.BACKENDS, settings.sound.backend),
        "window.theme": Choice("theme", texts.THEME, texts.THEMES, settings.window.theme),
        "window.letters": Choice(
            "letters", texts.LETTERS, texts.LETTER_SIZES, _nearest(settings.window.letters, texts.LETTER_SIZES)
        ),
        "words.language": Choice("language", texts.LANGUAGE, _languages(), settings.words.language),
        "replay.keep_video": Choice("video", texts.VIDEO, texts.YES_NO, texts.yes_no(settings.replay.keep_video)),
    }

    if desk.can_listen():
        listens = texts.yes_no(settings.hearing.microphone)
        choices["hearing.microphone"] = Choice("microphone", texts.MICROPHONE, texts.LISTENS, listens)

    level = Choice("level", texts.LEVEL, texts.LEVELS, texts.yes_no(desk.level_by_hand))

    def change(values: Any) -> None:
        from trainer.app.start.common_settings import change_common

        desk.level_by_hand = values["level"] == "yes"
        moved = {key: values[one.name] for key, one in choices.items() if values[one.name] != one.value}
        if moved:
            change_common(desk.context(None), {key: _typed(key, text) for key, text in moved.items()})
            desk.look_as_set()

    def save(values: Any) -> Next:
        change(values)
        return Goes("home", texts.SAVED)

    def sound(values: Any) -> Next:
        change(values)
        return Opens(lambda: sound_page(desk))

    foot = (Button(texts.SAVE, save, look="main"), Button(texts.TRY_SOUND, sound))
    return Page(texts.SETTINGS_TITLE, (*choices.values(), level), foot=foot)


def sound_page(desk: StartDesk) -> Page:
    """Did you hear it; louder; another loudspeaker."""
    from trainer.ui.start.first_pages import sound_body

    heard = Button(texts.HEARD, lambda _: Goes("back"), look="main")
    return Page(texts.SOUND_TITLE, (*sound_body(desk), Buttons((heard,))))


def _languages() -> tuple[tuple[str, str], ...]:
    """Each by its own name."""
    return ((AUTO, texts.LANGUAGE_OF_SYSTEM), *((one.code, one.name) for one in LANGUAGES.values()))


def _typed(key: str, text: str) -> Any:
    """As settings have it."""
    if key == "camera.source":
        return int(text) if text.isdigit() else text
    if key in ("sound.volume", "window.letters"):
        return float(text)
    return text == "yes" if key in ("replay.keep_video", "hearing.microphone") else text


def _nearest(value: float, options: tuple[tuple[str, str], ...]) -> str:
    return min((text for text, _ in options), key=lambda text: abs(float(text) - value))
