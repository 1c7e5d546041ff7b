"""Every word of the start window that is not a use case's own, in one place."""

from __future__ import annotations

from trainer.domain.naming import PHONE

# ---- everywhere
BACK = "‹ Back"
HOME = "Start page"
KEYS = "Tab or arrows: choose  ·  Enter: do it  ·  Esc: back"
KEYS_HOME = KEYS.replace("back", "close")
SAVE = "Save"
CANCEL = "Leave it as it is"
CLOSE, STAY = "Close", "Stay"
CANNOT_START = "The trainer cannot start"
CLOSE_QUESTION = "Close the trainer?"
STOPPED = "stopped; nothing was changed"
NOTHING_DONE = "nothing was done"
WHO_FIRST = "nobody is chosen yet"
WHO_TODO = "choose who is practising, or add somebody"
NO_NUMBER = "is no number"

# ---- the start page
NOBODY = "Nobody chosen"
SWITCH = "Switch or add"
PRACTISE, LOOK, COACH, SET_UP = "Practise", "See and understand", "Coach", "Set up"
DRILLS, FREE, BEFORE_PLAY, HOMEWORK, LESSON = "Drills", "Free practice", "Before play", "Homework", "Lesson"
LESSON_ON = "Go on with the lesson"
AGAIN, PROGRESS, POSTURE, REASONS, DISTANCE = "Strokes again", "Progress", "How you stand", "Why: cards", "Distance"
ROUND, LIMITS, BASELINE, TRANSFER, ERASE = "Coach's round", "Limits", "Fit limits", "Export, import", "Erase"
SETUP, CHECK, CLIP, SETTINGS, DEMO = "Set up camera", "Check all", "Clip from disk", "Settings", "Demo"

# ---- the first time
FIRST_OF = "First time: {number} of {count}"
NEXT, SKIP, SKIP_ALL, BEFORE = "Next", "Skip this", "Skip all of it", "Page before"
WHO_TITLE = "Who are you?"
WHO_WORDS = "Strokes and limits are kept under your name. All of it stays on this machine."
NAME, HAND, HEIGHT, UNIT = "Name", "You putt", "Height", "Distances in"
GRIP, PUTTER, STANDS = "Lower hand", "Putter", "Putts"
GRIPS = (
    ("trail hand low", "trail"), ("lead hand low", "lead"), ("hands level", "neither"),
    ("lead hand only", "only the lead"), ("trail hand only", "only the trail"),
)  # fmt: skip
PUTTERS = (("no", "in the hands alone"), ("yes", "held at belly, chest or arm"))
STANDINGS = (("no", "standing"), ("yes", "from a chair"))
TRAIL_WORDS = "The lead hand is the one nearer to the target, the trail hand the one farther from it."
HEIGHT_WORDS = "Height as 172 (cm) or 5 ft 8 in; it may stay empty. Lengths are measured by it."
RIGHT_HANDED, LEFT_HANDED = "right-handed", "left-handed"
METRES, FEET = "metres", "feet"
CAMERA_TITLE = "Your camera"
CAMERA_WORDS = "Is this the picture? If not, choose another camera."
CAMERA_NUMBER = "Camera {number}"
A_PHONE = "A phone"
CAMERA_OPENING = "waiting for the picture"
LOOK_AGAIN = "Look again"
SOUND_TITLE = "Sound"
SOUND_WORDS = "Tones tell you what your head and hands did. Press the first button: did you hear it?"
PLAYED = "a tone was played: did you hear it?"
PLAY, LOUDER, OTHER_SOUND, HEARD = "Play a tone", "Louder", "Another way to play", "I heard it"
VOLUME_IS = "volume {volume:.0%}, played: {backend}"
NO_LOUDER = "this is as loud as it gets here; turn up the loudspeaker too"
PLACE_TITLE = "Where to stand"
PLACE_WORDS = (
    "The camera stands in front of you, 2.5 to 3 m away, at knee height (0.4 to 0.7 m), square to the line.",
    "Your whole body is in the picture, and 60 cm either side of your feet.",
    "Light on you, and no window behind you.",
    "Clear away what moves or looks like a putter: other clubs, chairs, a dog.",
    "Lay the cable where nobody steps. A band of bright tape round the shaft helps.",
)
SETUP_TITLE = "Set up the camera"
SETUP_WORDS = "Signs and tones lead you, and it ends by itself when all is well. Escape or the cross ends it early."
BEGIN_SETUP = "Begin"
NO_PICTURE_TODO = "begin again when the camera is on, or choose another one"

# ---- students
STUDENTS = "Who is practising?"
ADD, ADDED, CHANGE, RENAMED, CHANGED = "Add somebody", "added {name}", "Change {name}", "now {name}", "changed {name}"
STUDENT_NOTE = "{strokes} in {sessions}"
HAND_NOTE = "{hand}-handed"

# ---- practice
DRILLS_TITLE = "Drills"
MADE = "{name}: {strokes}"
PRACTISED = "Practice"
ONCE_MORE, SEE = "Once more", "See them again"
NO_STROKES_MADE = "No stroke was made."
HEADS = ("no.", "kind", "hold, s", "early by, s", "faults")
GREEN_TODAY = "Green speed, ft"
BEFORE_PLAY_WORDS = "Ten minutes at most: five holds, putts to today's green, five in silence. It ends by itself."
BEGIN = "Begin"
STROKE_FIRST = "strokes"

# ---- strokes
STROKES_TITLE = "Strokes"
SEE_LAST = "Last session, slow and with lines"
BEST_BESIDE = "Newest beside the best one"
SEE_IT, SEE_BESIDE_BEST = "See it again, slow and with lines", "Beside the best one"
WENT = "Where the ball went"
NO_STROKES = "No strokes on record yet."
NO_FAULT = "no fault"
OPENING_STROKES, READING_CLIP = "Opening the strokes", "Reading the clip"

# ---- progress
PROGRESS_TITLE = "{name}: progress"
WEEK = "This week: {sentence}"
WRITE_PAGE = "Write it as a page"
READING_RECORD = "Reading the record"
WROTE = "wrote {path}"
CHART_TITLE = "Ball strokes without {work}, each session with its 95 % interval"
SESSION_HEADS = ("session", "ball strokes", "without {work}", "95 % interval", "not judged", "no fault at all")

# ---- homework and lesson
NO_HOMEWORK = "No homework is set."
SET_HOMEWORK, DROP = "Set homework", "Take back: {task}"
DRILL, STROKES_A_DAY, DAYS, NOTE, BY, DISTANCE_M = (
    "Drill", "Strokes a day", "Days a week", "Your words to it", "Set by", "Distance, m",
)  # fmt: skip
HOMEWORK_IS = "homework {number}: {task}"
DROPPED = "dropped: {task}"
NO_LESSON = "No lesson is under way. A lesson goes in steps, each kept at once."
BEGIN_LESSON, END_LESSON = "Begin a lesson", "End the lesson"
LESSON_STROKES, LESSON_AS_PROPOSED, LESSON_CHOOSE = "Strokes as they are", "Take what is proposed", "It is about this"
LESSON_ABOUT, LESSON_WHY, LESSON_TRY, LESSON_SAY = "About", "Why", "What was tried", "Words to take home"
LESSON_NOTE_TRY, LESSON_KEEP_WORDS, LESSON_PAGE = "Note it", "Keep the words", "The page to take home"

# ---- posture, reasons, distance
POSTURE_NOW, POSTURE_KEEP, POSTURE_CLIP = "Look now", "Look and keep it", "From a picture or clip"
POSTURE_COMPARE, POSTURES_KEPT = "First beside last", "{count} kept"
POSTURE_HEADS = ("measure", "now", "range", "", "what to do")
COMPARE_HEADS = ("measure", "before", "after", "change", "least that counts", "")
REASONS_TITLE = "Why"
DISTANCE_TITLE = "Distance"
SET_GREEN, ENTER_PUTT, CHART = "Set the green", "Enter a putt", "The chart"
IN_METRES, IN_FEET = "Distances in metres", "Distances in feet"
GREEN_SPEED, ROLLED, TARGET, BACK_CM = "Green speed, ft", "It rolled", "It was meant for", "Backstroke, cm"
OF_NEWEST = "Backstroke left empty: the putt belongs to the newest ball stroke on record."
UNIT_KEPT = "{name}: distances in {unit}"

# ---- coach
ROUND_TITLE = "Coach's round"
ROUND_WORDS = "One after the other: press a student's number, or choose and press Enter. It comes back here."
ROUND_BY_ARMS = "Round by arms"
ROUND_ARMS_WORDS = (
    "Round by arms: from the one chosen to the last; both hands up ends a turn, and the next one's name comes up."
)
ROUND_NOTE = "{strokes} today; {what}"
BASELINE_WORDS = (
    "{count} strokes without a ball, as you would like to putt; then end the practice. They propose limits."
)
BASELINE_MAKE, BASELINE_LAST, BASELINE_ACCEPT = "Make them now", "From strokes on record", "Set these limits"
BASELINE_HEADS = ("limit", "typical", "spread", "now", "proposed", "unit", "why")
BASELINE_FROM = "from {strokes} rehearsal strokes"
LIMITS_SET, NOTHING_TO_CHANGE = "limits set", "nothing to change"
TRANSFER_WORDS = "One file holds all there is of a student but the videos. Importing it twice changes nothing."
EXPORT, EXPORT_PROFILE, IMPORT = "Export all", "Export profile only", "Import a file"
EXPORTING, IMPORTING = "Writing the export file", "Reading the export file"
ERASE_TITLE = "Erase {name}?"
ERASE_WORDS = "Everything of {name} goes for good: strokes, pictures, videos, limits, homework, lessons."
ERASE_FIRST = "Erase"
ERASE_SURE = "Really erase {name}?"
ERASE_SURE_WORDS = "This is the second and last question. There is no way back."
ERASE_NOW = "Erase all of it now"

# ---- set up
CHECK_TITLE = "Is everything ready?"
CHECKING = "Trying camera, sound, model and disk"
CHECK_HEADS = ("", "", "")
PICK_CLIP = "Choose a clip, or drop one on the window"
PICK_EXPORT = "Choose an export file, or drop one on the window"
PICK_PICTURE = "Choose a picture or clip"
UP = "Folder above"
NO_SUCH_FILES = "Nothing to choose in this folder; go into another."
CLIP_TITLE = "{name}: {strokes}"
SEE_CLIP = "See it again, slow and with lines"
SETTINGS_TITLE = "Settings of this machine"
THEME, LETTERS, VOLUME, VIDEO, VIEW, CAMERA, BACKEND = (
    "Colours", "Letters", "Volume", "Keep video", "Camera sees you", "Camera", "Sound",
)  # fmt: skip
THEMES = (("dark", "light on dark"), ("light", "dark on light"))
VIEWS = (("face-on", "from the front"), ("down-the-line", "along the line"))
YES_NO = (("yes", "yes"), ("no", "no"))
VOLUMES = (("0.0", "off"), ("0.3", "soft"), ("0.6", "medium"), ("0.8", "loud"), ("1.0", "loudest"))
LETTER_SIZES = (("1.0", "usual"), ("1.25", "larger"), ("1.5", "large"), ("2.0", "very large"))
BACKENDS = (("auto", "whichever works"), ("mixer", "first way"), ("simpleaudio", "second way"), ("silent", "no sound"))
SAVED = "saved"


def camera_called(source: str) -> str:
    """On a button. source: as the settings have it."""
    return A_PHONE if source == PHONE else CAMERA_NUMBER.format(number=source) if source.isdigit() else source


def yes_no(value: bool) -> str:
    """As an option of a choice."""
    return "yes" if value else "no"


def strokes(count: int) -> str:
    return f"{count} stroke{'' if count == 1 else 's'}"


def sessions(count: int) -> str:
    return f"{count} session{'' if count == 1 else 's'}"
