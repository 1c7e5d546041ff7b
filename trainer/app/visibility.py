"""What of the player was seen in a run of frames, what would have helped, and why no stroke was found."""

from __future__ import annotations

from trainer.app.likely_view import LikelyView
from trainer.domain.naming import hand_words, view_words
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.picture_edge import thing_words
from trainer.live.advice import AdviceTeller
from trainer.settings.model import Settings
from trainer.texts import tr

SEEN_SHARE = 0.2  # somebody seen in less of the frames than this is nobody
UNSEEN_SHARE = 0.2  # a thing unseen in more of the frames than this is worth a warning
MADE_OUT = 0.5  # a putter less certain than this is where it would be, not where it is seen
CLIP = tr("clip")
OWN_OPTIONS = ("--handedness", "--view")  # of the player who is watched, or of the first clip
LEAST_FPS = 12.0  # fewer frames a second lose strokes: at 7.5 each of five rendered ones, at 15 none
NO_STROKE = tr("no stroke found as {hand}, {view}: are `{hand_option}` and `{view_option}` those of the {whose}?")
LOOKS_LIKE = tr("no stroke found as {hand}, {view}; it looks {seen_hand}, {seen_view}: try `{options}`")


class Visibility:
    """How many frames there were, and in how many of them each thing was not seen."""

    def __init__(self) -> None:
        self.frames = 0
        self._first_s = self._last_s = 0.0
        self._unseen = {"body": 0, "head": 0, "putter": 0, "ball": 0}
        self._guessed = 0  # frames whose putter is no more than that
        self._view = "face-on"
        self._advice, self._likely = AdviceTeller(), LikelyView()

    def add(self, observation: Observation, phase: Phase) -> tuple[str, ...]:
        """The next frame's. Lines of advice to be said for the first time."""
        if not self.frames:
            self._first_s = observation.time_s
        self.frames, self._last_s = self.frames + 1, observation.time_s
        said = self._advice.see(observation, phase)
        self._view = observation.view
        self._likely.see(observation, phase)
        for name in self._unseen:
            self._unseen[name] += getattr(observation, name) is None
        self._guessed += observation.putter is None or observation.putter.confidence < MADE_OUT
        return said

    @property
    def advice(self) -> tuple[str, ...]:
        """What stands now, newest last."""
        return self._advice.shown

    def warnings(self) -> list[str]:
        """What would have helped, and one line a thing that was often not seen."""
        # A ball leaves when it is hit, and the head's turn is measured face-on only: unseen by nature.
        looked_for = ("body", "head", "putter") if self._view == "face-on" else ("body", "putter")
        shares = {name: self._unseen[name] / max(1, self.frames) for name in looked_for}
        found = [
            tr("{name} not seen in {share:.0%} of the frames", name=thing_words(name), share=share)
            for name, share in shares.items()
            if share > UNSEEN_SHARE
        ]
        if self._unseen["ball"] == self.frames:
            found.append(tr("no ball seen in any frame: strokes count as rehearsals"))
        return [*self._advice.said, *found]

    def no_stroke(self, settings: Settings, whose: str = CLIP, option_names: tuple[str, str] = OWN_OPTIONS) -> str:
        """What to look at first when no stroke was found. option_names: those that say its hand and its view."""
        lasted_s = self._last_s - self._first_s
        fps = (self.frames - 1) / lasted_s if lasted_s > 0 else LEAST_FPS
        if fps < LEAST_FPS:
            return tr("no stroke found; {fps:.0f} frames/s are too few, it takes 15 and more", fps=fps)
        if self._advice.said:
            return tr("no stroke found; {said}", said=self._advice.said[0])
        if self._unseen["body"] > (1 - SEEN_SHARE) * self.frames:
            return tr("no stroke found: nobody is seen; the whole body in the picture, and light on it?")
        lost = self._guessed / max(1, self.frames)
        if lost > UNSEEN_SHARE:
            return tr(
                "no stroke found; the putter was not made out in {share:.0%} of the frames: light on it, a plain ground, "
                "a band of tape on its shaft?",
                share=lost,
            )
        hand, view = settings.player.handedness, settings.camera.view
        of_hand, of_view = option_names
        likely = self._likely.suggested(settings.player, view)
        if likely is None:
            return NO_STROKE.format(
                hand=hand_words(hand),
                view=view_words(view),
                hand_option=of_hand,
                view_option=of_view,
                whose=whose,
            )
        seen_hand, seen_view = likely
        options = [f"{of_hand} {seen_hand}"] * (seen_hand != hand) + [f"{of_view} {seen_view}"] * (seen_view != view)
        return LOOKS_LIKE.format(
            hand=hand_words(hand),
            view=view_words(view),
            seen_hand=hand_words(seen_hand),
            seen_view=view_words(seen_view),
            options=" ".join(options),
        )
