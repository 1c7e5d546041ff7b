"""Every word of the start window that is not a use case's own, in one place."""

from __future__ import annotations

from trainer.domain.naming import PHONE
from trainer.texts import tr, tr_count, tr_of

# ---- everywhere
BACK = tr("‹ Back")
HOME = tr("Start page")
KEYS = tr("Tab or arrows: choose  ·  Enter: do it  ·  Esc: back")
KEYS_HOME = tr("Tab or arrows: choose  ·  Enter: do it  ·  Esc: close")
SAVE, CANCEL = tr("Save"), tr("Leave it as it is")
CLOSE, STAY = tr("Close"), tr("Stay")
CANNOT_START, CLOSE_QUESTION = tr("The trainer cannot start"), tr("Close the trainer?")
STOPPED = tr("stopped; nothing was changed")
WHO_FIRST, NO_NAME_YET = tr("nobody is chosen yet"), tr("write a name first")
WHO_TODO = tr("choose who is practising, or add somebody")
NO_NUMBER = tr("is no number")

# ---- the start page
NOBODY = tr("Nobody chosen")
SWITCH = tr("Change player")
PRACTISE, LOOK, COACH, SET_UP = tr("Practise"), tr("See and understand"), tr("Coach"), tr_of("heading", "Set up")
DRILLS, FREE, BEFORE_PLAY, HOMEWORK, LESSON = (
    tr("Drills"),
    tr("Free practice"),
    tr("Before play"),
    tr("Homework"),
    tr("Lesson"),
)
LESSON_ON = tr("Go on with the lesson")
AGAIN, PROGRESS, POSTURE, REASONS, DISTANCE = (
    tr("Replay strokes"),
    tr("Progress"),
    tr("How you stand"),
    tr("Why: cards"),
    tr("Distance"),
)
ROUND, LIMITS, BASELINE, TRANSFER, ERASE = (
    tr("Coach's round"),
    tr("Limits"),
    tr("Limits from a baseline"),
    tr("Export, import"),
    tr("Erase"),
)
SETUP, CHECK, CLIP, SETTINGS, DEMO = (
    tr("Set up camera"),
    tr("Check everything"),
    tr("Open a clip"),
    tr("Settings"),
    tr("Demo"),
)

# ---- the first time
FIRST_OF = tr("First time: {number} of {count}")
NEXT, SKIP, SKIP_ALL, BEFORE = tr("Next"), tr("Skip this"), tr("Skip all of it"), tr("Page before")
WHO_TITLE = tr("Who are you?")
WHO_WORDS = tr("Strokes and limits are kept under your name. All of it stays on this machine.")
NAME, HAND, HEIGHT, UNIT = tr("Name"), tr("You putt"), tr("Height"), tr("Distances in")
GRIP, PUTTER, STANDS = tr("Lower hand"), tr("Putter"), tr("Putts")
GRIPS = (
    ("trail hand low", tr("trail")), ("lead hand low", tr("lead")), ("hands level", tr("neither")),
    ("lead hand only", tr("only the lead")), ("trail hand only", tr("only the trail")),
)  # fmt: skip
PUTTERS = (("no", tr("in the hands alone")), ("yes", tr("held at belly, chest or arm")))
STANDINGS = (("no", tr("standing")), ("yes", tr("from a chair")))
TRAIL_WORDS = tr("The lead hand is the one nearer to the target, the trail hand the one farther from it.")
HEIGHT_WORDS = tr("Height as 172 (cm) or 5 ft 8 in; it may stay empty. Lengths are measured by it.")
RIGHT_HANDED, LEFT_HANDED = tr("right-handed"), tr("left-handed")
METRES, FEET = tr("metres"), tr("feet")
CAMERA_TITLE = tr("Your camera")
CAMERA_WORDS = tr("Is this the picture? If not, choose another camera.")
NO_CAMERA_WORDS = tr("There is no picture yet. Choose a camera, or go on without one.")
CAMERA_NUMBER = tr("Camera {number}")
A_PHONE = tr("A phone")
CAMERA_OPENING = tr("waiting for the picture")
LOOK_AGAIN = tr("Look again")
SOUND_TITLE = tr("Sound")
SOUND_WORDS = tr("Tones tell you what your head and hands did. Press the first button: did you hear it?")
PLAYED = tr("a tone was played: did you hear it?")
PLAY, LOUDER, HEARD = tr("Play a tone"), tr("Louder"), tr("I heard it")
OTHER_SOUND = tr("Not heard? Choose another loudspeaker")
SYSTEMS_OWN = tr("The system's own")
VOLUME_IS = tr("Volume: {volume:.0%}")
NO_LOUDER = tr("this is as loud as it gets here; turn up the loudspeaker too")
PLACE_TITLE = tr("Where to stand")
PLACE_WORDS = (
    tr("The camera stands in front of you, 2.5 to 3 m away, at knee height (0.4 to 0.7 m), square to the line."),
    tr("Your whole body is in the picture, and 60 cm either side of your feet."),
    tr("Light on you, and no window behind you."),
    tr("Clear away what moves or looks like a putter: other clubs, chairs, a dog."),
    tr("Lay the cable where nobody steps. A band of bright tape round the shaft helps."),
)
SETUP_TITLE = tr("Set up the camera")
SETUP_WORDS = (
    tr(
        "Lay a ball down and press the button; then stand over the ball with your putter, as for a putt, and stay there."
    ),
    tr("Signs and tones lead you, and it ends by itself when all is well. Escape or the cross ends it early."),
)
BEGIN_SETUP = tr("Begin")
MICROPHONE = tr("Click of the ball")
NO_PICTURE_TODO = tr("begin again when the camera is on, or choose another one")

# ---- students
STUDENTS = tr("Who is practising?")
ADD, ADDED, CHANGE, CHANGED = (
    tr("Add somebody"),
    tr("added {name}"),
    tr("Change {name}"),
    tr("changed {name}"),
)
STUDENT_NOTE = tr("{strokes} in {sessions}")
TWICE, WHO_ELSE = tr("{name} is here twice"), tr("Who else is {name}?")
WHO_ELSE_WORDS = tr("Choose the other name of the same person. Nothing is done before you are asked once more.")
ONE_PERSON = tr("Are {other} and {name} one person?")
JOIN_WORDS = (
    tr("All of {other} becomes {name}'s: strokes, pictures, videos, limits, homework, lessons. The name {other} goes."),
    tr("Of each limit the newest change counts. It cannot be undone."),
)
JOIN = tr("They are one person: join them")

# ---- practice
DRILLS_TITLE = tr("Drills")
MADE = tr("{name}: {strokes}")
PRACTISED = tr("Practice")
ONCE_MORE, SEE = tr("Once more"), tr("See them again")
NO_STROKES_MADE = tr("No stroke was made.")
HEADS = (tr("no."), tr("kind"), tr("hold, s"), tr("early by, s"), tr("faults"))
GREEN_TODAY = tr("Green speed, ft")
BEFORE_PLAY_WORDS = tr("Ten minutes at most: five holds, putts to today's green, five in silence. It ends by itself.")
BEGIN = tr("Begin")
STROKE_FIRST = tr("strokes")

# ---- strokes
STROKES_TITLE = tr("Strokes")
SEE_LAST = tr("Last session, slow and with lines")
BEST_BESIDE = tr("Newest beside the best one")
SEE_IT, SEE_BESIDE_BEST = tr("See it again, slow and with lines"), tr("Beside the best one")
WENT = tr("Where the ball went")
NO_STROKES = tr("No strokes on record yet.")
WRONG_NAME = tr("Wrong name?")
RECORDED_UNDER, RECORDED_NAMELESS = tr("Recorded under {name}: {listed}"), tr("Recorded without a name: {listed}")
WHOLE_SESSION = tr("The whole session: {listed}")
GIVE_STROKE, GIVE_SESSION = tr("Give this stroke to"), tr("Give the whole session to")
TAKE_OUT, THIS_STROKE, ALL_SESSION = tr("Take out of the record"), tr("This stroke"), tr("The whole session")
NOBODY_ELSE = tr("Nobody else is known here yet. Add whoever it was.")
TAKE_OUT_SURE = tr("Really take it out of the record?")
TAKE_OUT_WORDS = tr("For good: {listed} of {name}, videos too. Importing an older file does not bring it back here.")
TAKE_OUT_NOW = tr("Take it out now")
DONE, GO_ON = tr("Done"), tr("Go on")
OPENING_STROKES, READING_CLIP = tr("Opening the strokes"), tr("Reading the clip")

# ---- progress
PROGRESS_TITLE = tr("{name}: progress")
WEEK = tr("This week: {sentence}")
WRITE_PAGE = tr("Write it as a page")
READING_RECORD = tr("Reading the record")
WROTE = tr("wrote {path}")
CHART_TITLE = tr("Ball strokes without {work}, each session with its 95 % interval")
SESSION_HEADS = (
    tr("session"),
    tr("ball strokes"),
    tr("without {work}"),
    tr("95 % interval"),
    tr("not judged"),
    tr("no fault at all"),
)

# ---- homework and lesson
NO_HOMEWORK = tr("No homework is set.")
SET_HOMEWORK, DROP, DROP_IT = tr("Set homework"), tr("Take back: {task}"), tr("Take it back")
DRILL, STROKES_A_DAY, DAYS, NOTE, BY, DISTANCE_M = (
    tr('Drill'), tr('Strokes a day'), tr('Days a week'), tr('Your words to it'), tr('Set by'), tr('Distance, m'),
)  # fmt: skip
HOMEWORK_EMPTY = tr("What stays empty is as the drill has it.")
HOMEWORK_IS = tr("homework {number}: {task}")
DROPPED = tr("dropped: {task}")
NO_LESSON = tr("No lesson is under way. A lesson goes in steps, each kept at once.")
BEGIN_LESSON, END_LESSON = tr("Begin a lesson"), tr("End the lesson")
LESSON_STROKES, LESSON_AS_PROPOSED, LESSON_CHOOSE = (
    tr("Strokes as they are"),
    tr("Take what is proposed"),
    tr("It is about this"),
)
LESSON_ABOUT, LESSON_WHY, LESSON_TRY, LESSON_SAY = (
    tr("About"),
    tr("Why"),
    tr("What was tried"),
    tr("Words to take home"),
)
LESSON_NOTE_TRY, LESSON_KEEP_WORDS, LESSON_PAGE = tr("Note it"), tr("Keep the words"), tr("The page to take home")

# ---- posture, reasons, distance
POSTURE_NOW, POSTURE_KEEP, POSTURE_CLIP = tr("Look now"), tr("Look and keep it"), tr("From a picture or clip")
POSTURE_COMPARE, POSTURES_KEPT = tr("First beside last"), tr("{count} kept")
POSTURE_HEADS = (tr("measure"), tr("now"), tr("range"), "", tr("what to do"))
COMPARE_HEADS = (tr("measure"), tr("before"), tr("after"), tr("change"), tr("least that counts"), "")
REASONS_TITLE, CARD_KINDS = tr("Why"), {"fault": tr("fault"), "drill": tr("drill")}
DISTANCE_TITLE = tr("Distance")
SET_GREEN, ENTER_PUTT, CHART = tr("Set the green"), tr("Enter a putt"), tr("The chart")
IN_METRES, IN_FEET = tr("Distances in metres"), tr("Distances in feet")
GREEN_SPEED, ROLLED, TARGET, BACK_CM = (
    tr("Green speed, ft"),
    tr("It rolled"),
    tr("It was meant for"),
    tr("Backstroke, cm"),
)
OF_NEWEST = tr("Backstroke left empty: the putt belongs to the newest ball stroke on record.")
UNIT_KEPT = tr("{name}: distances in {unit}")

# ---- coach
ROUND_TITLE = tr("Coach's round")
ROUND_WORDS = tr("One after the other: press a student's number, or choose and press Enter. It comes back here.")
ROUND_BY_ARMS = tr("Round by arms")
ROUND_ARMS_WORDS = tr(
    "Round by arms: everybody once, the one chosen first; both hands up ends a turn, and the next one's name comes up."
)
ROUND_NOTE = tr("{strokes} today; {what}")
BASELINE_WORDS = tr(
    "{count} strokes without a ball, as you would like to putt; then end the practice. They propose limits."
)
BASELINE_MAKE, BASELINE_LAST, BASELINE_ACCEPT = (
    tr("Make them now"),
    tr("From strokes on record"),
    tr("Set these limits"),
)
BASELINE_HEADS = (tr("limit"), tr("typical"), tr("spread"), tr("now"), tr("proposed"), tr("unit"), tr("why"))
BASELINE_FROM = tr("from {strokes} rehearsal strokes")
LIMITS_SET, NOTHING_TO_CHANGE = tr("limits set"), tr("nothing to change")
TRANSFER_TITLE = tr("{name}: export, import")
TRANSFER_WORDS = tr("One file holds all there is of a student but the videos. Importing it twice changes nothing.")
EXPORT, EXPORT_PROFILE, IMPORT = tr("Export all"), tr("Export profile only"), tr("Import a file")
EXPORTING, IMPORTING = tr("Writing the export file"), tr("Reading the export file")
ERASE_TITLE = tr("Erase {name}?")
ERASE_WORDS = tr("Everything of {name} goes for good: strokes, pictures, videos, limits, homework, lessons.")
ERASE_FIRST = tr("Erase")
ERASE_SURE = tr("Really erase {name}?")
ERASE_SURE_WORDS = tr("This is the second and last question. There is no way back.")
ERASE_NOW = tr("Erase all of it now")

# ---- set up
CHECK_TITLE = tr("Is everything ready?")
CHECKING = tr("Trying camera, sound, model and disk")
CHECK_HEADS = ("", "", "")
PICK_CLIP = tr("Choose a clip, or drop one on the window")
PICK_EXPORT = tr("Choose an export file, or drop one on the window")
PICK_PICTURE = tr("Choose a picture or clip")
UP, NO_SUCH_FILES = tr("Folder above"), tr("Nothing to choose in this folder; go into another.")
CLIP_TITLE = tr("{name}: {strokes}")
CLIP_NOT_KEPT = tr("Looked at only: strokes of a clip are not added to anybody's record.")
RECORDED_AT = tr("{fps} frames/s")
RECORDED_AT_ASK = tr("At how many frames a second was it recorded? The camera app's settings tell.")
SEE_CLIP = tr("See it again, slow and with lines")
SETTINGS_TITLE = tr("Settings of this machine")
THEME, LETTERS, VOLUME, VIDEO, VIEW, CAMERA, BACKEND = (
    tr('Colours'), tr('Text size'), tr('Volume'), tr('Keep video'), tr('Camera sees you'), tr('Camera'), tr('Sound'),
)  # fmt: skip
LEVEL = tr("Camera level")
LEVELS = (("no", tr("as the picture tells")), ("yes", tr("set by hand")))
TRY_SOUND = tr("Hear it, or another loudspeaker")
THEMES = (("dark", tr("light on dark")), ("light", tr("dark on light")))
VIEWS = (("face-on", tr("from the front")), ("down-the-line", tr("along the line")))
YES_NO = (("yes", tr("yes")), ("no", tr("no")))
LISTENS = (("yes", tr("listen for it, keep no sound")), ("no", tr("do not listen")))
VOLUMES = (
    ("0.0", tr("off")),
    ("0.3", tr("soft")),
    ("0.6", tr("medium")),
    ("0.8", tr("loud")),
    ("1.0", tr("loudest")),
)
LETTER_SIZES = (("1.0", tr("normal")), ("1.25", tr("large")), ("1.5", tr("larger")), ("2.0", tr("largest")))
BACKENDS = (
    ("auto", tr("automatic")),
    ("mixer", "mixer"),
    ("simpleaudio", "simpleaudio"),
    ("silent", tr("off")),
)
LANGUAGE, LANGUAGE_OF_SYSTEM = tr("Language"), tr("the system's")
SAVED = tr("saved")


def camera_called(source: str) -> str:
    """On a button. source: as the settings have it."""
    return A_PHONE if source == PHONE else CAMERA_NUMBER.format(number=source) if source.isdigit() else source


def yes_no(value: bool) -> str:
    """As an option of a choice."""
    return "yes" if value else "no"


def strokes(count: int) -> str:
    return tr_count("{count} stroke", "{count} strokes", count)


def sessions(count: int) -> str:
    return tr_count("{count} session", "{count} sessions", count)
