"""Clips are written whole or not at all, in a thread of their own, and are such as phones and browsers play."""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from queue import Queue
from typing import Iterator
from urllib.parse import unquote

import numpy as np
import pytest

from tests.support.burnt import grab_at, number_of, picture
from tests.support.phone_clips import uneven
from trainer.domain.verdict import Cue
from trainer.errors import UsageError
from trainer.mp4 import KEY_EVERY_S, SOUND_RATE_HZ, Mp4Writer, check_room
from trainer.replay.clip_reader import Reader
from trainer.ui.export.cue_track import cue_track
from trainer.ui.export.encoder import Encoder
from trainer.vision.sources.clip import Clip

COUNT = 60


def written(path: Path, times_s: list[float], size: tuple[int, int] = (320, 240)) -> Path:
    encoder = Encoder(path, size, 30.0)
    for number, time_s in enumerate(times_s):
        encoder.add(picture(number, *size), time_s)
    encoder.close()
    return path


def test_every_picture_at_its_own_time_and_any_of_them_soon(tmp_path: Path) -> None:
    times = uneven(COUNT)
    path = written(tmp_path / "a.mp4", times)
    with Clip(path) as clip:
        frames = list(clip)
    assert [number_of(frame.image) for frame in frames] == list(range(COUNT))
    assert [frame.time_s for frame in frames] == pytest.approx(times, abs=1e-4)
    reader = Reader(path)
    for index in (50, 3, 31):
        assert grab_at(reader, index, np.array([frame.time_s for frame in frames]))
        assert number_of(reader.picture()) == index
    reader.close()
    assert [path.name for path in tmp_path.iterdir()] == ["a.mp4"]


def test_the_index_is_in_front_and_a_key_comes_every_half_second(tmp_path: Path) -> None:
    import av

    path = written(tmp_path / "a.mp4", uneven(COUNT))
    data = path.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")
    with av.open(str(path)) as file:
        stream = file.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt) == ("h264", "yuv420p")
        packets = [p for p in file.demux(stream) if p.pts is not None]
        keys = [float(p.pts * stream.time_base) for p in packets if p.is_keyframe]
    assert keys[0] == 0.0
    assert max(np.diff(keys)) < KEY_EVERY_S + 0.07


def test_odd_sides_are_cut_to_even_ones_and_colours_stay(tmp_path: Path) -> None:
    image = np.full((241, 321, 3), (40, 160, 220), np.uint8)
    encoder = Encoder(tmp_path / "a.mp4", (321, 241), 30.0)
    encoder.add(image, 0.0)
    encoder.close(1.5)
    frames = list(Clip(tmp_path / "a.mp4"))
    assert frames[0].image.shape == (240, 320, 3)
    assert frames[0].image[100, 100] == pytest.approx(image[0, 0], abs=2)
    assert frames[-1].time_s == pytest.approx(1.5)


@pytest.mark.skipif(shutil.which("ffprobe") is None, reason="ffprobe is not installed")
def test_another_program_finds_nothing_wrong(tmp_path: Path) -> None:
    path = written(tmp_path / "a.mp4", [n / 30 for n in range(COUNT)])
    show = ["-show_entries", "stream=codec_name,pix_fmt,nb_read_frames,color_space,start_time:format=duration"]
    done = subprocess.run(
        ["ffprobe", "-v", "warning", "-count_frames", *show, "-of", "default=nw=1", str(path)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stderr == ""
    said = dict(line.split("=") for line in done.stdout.splitlines())
    assert (said["codec_name"], said["pix_fmt"]) == ("h264", "yuv420p")
    assert (said["color_space"], said["nb_read_frames"]) == ("bt709", str(COUNT))
    assert float(said["start_time"]) == 0.0
    assert float(said["duration"]) == pytest.approx(COUNT / 30, abs=0.002)


def test_what_is_given_up_or_fails_leaves_no_file_and_the_one_before_stays(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    before = written(path, [0.0]).read_bytes()
    encoder = Encoder(path, (320, 240), 30.0)
    encoder.add(picture(0, 320, 240), 0.0)
    encoder.abandon()
    encoder.abandon()
    assert [p.name for p in tmp_path.iterdir()] == ["a.mp4"]
    assert path.read_bytes() == before
    gone = tmp_path / "gone"
    gone.mkdir()
    encoder = Encoder(gone / "a.mp4", (320, 240), 30.0)
    shutil.rmtree(gone)
    encoder.add(picture(0, 320, 240), 0.0)
    with pytest.raises(UsageError, match="cannot be written"):
        encoder.close()


@pytest.mark.parametrize("speed", [1.0, 0.5])
def test_cues_are_heard_at_the_moments_they_were_given(tmp_path: Path, speed: float) -> None:
    import av

    cues = (Cue("early_look", 10.5), Cue("hold_done", 11.4), Cue("sway", 99.0))
    track = cue_track(cues, (10.0, 12.0), speed)
    encoder = Encoder(tmp_path / "a.mp4", (320, 240), 30.0, track)
    for n in range(COUNT):
        encoder.add(picture(n, 320, 240), n / 30 / speed)
    encoder.close()
    with av.open(str(tmp_path / "a.mp4")) as file:
        stream = file.streams.audio[0]
        assert stream.codec_context.name == "aac"
        pieces = [(frame.pts * float(frame.time_base), frame.to_ndarray()[0]) for frame in file.decode(stream)]
    heard = np.concatenate([samples for _, samples in pieces])
    loud = pieces[0][0] + np.flatnonzero(np.abs(heard) > 0.02) / SOUND_RATE_HZ
    for cue in cues[:2]:
        assert loud[loud > (cue.at_s - 10.0) / speed - 0.05][0] == pytest.approx((cue.at_s - 10.0) / speed, abs=0.02)
    assert len(heard) / SOUND_RATE_HZ == pytest.approx(2.0 / speed, abs=0.05)
    with Clip(tmp_path / "a.mp4") as clip:
        assert [number_of(frame.image) for frame in clip] == list(range(COUNT))
    with pytest.raises(UsageError, match="no cue was given"):
        cue_track(cues, (20.0, 21.0))


def test_room_is_looked_for_first(tmp_path: Path) -> None:
    check_room(tmp_path, 1e6, lambda folder: 60e6)
    with pytest.raises(OSError, match="No space left"):
        check_room(tmp_path, 20e6, lambda folder: 60e6)
    with pytest.raises(OSError, match="without size"):
        Mp4Writer(tmp_path / "a.mp4", (1, 1))


PAGE = """<!doctype html><body><video muted preload="auto"></video><script>
const v = document.querySelector("video"), said = {at: []}, asked = [1.2, 0.3, 1.7];
let waits = 0;
const tell = () => { new Image().src = "WHERE" + encodeURIComponent(JSON.stringify(said)); };
// What is drawn once a seek is done may still be the picture before, on a busy machine: the new one is waited for.
const next = () => {
  if (!asked.length) return tell();
  v.requestVideoFrameCallback(read);
  v.currentTime = asked.shift();
};
v.onerror = () => { said.error = v.error.message; tell(); };
v.onloadedmetadata = () => { said.size = [v.videoWidth, v.videoHeight]; said.duration = v.duration; next(); };
const read = () => {
  const c = document.createElement("canvas"), to = c.getContext("2d"), bits = [];
  c.width = v.videoWidth; c.height = v.videoHeight; to.drawImage(v, 0, 0);
  for (let b = 0; b < 12; b++) bits.push(to.getImageData(20 + 24 * b, 20, 1, 1).data[0]);
  if (!bits.some((level) => level > 128) && waits++ < 100) return setTimeout(read, 50);  // told of before it can be drawn
  said.at.push([v.currentTime, bits]); next();
};
v.src = "data:video/mp4;base64,DATA";
</script></body>"""


@contextmanager
def listener() -> Iterator[tuple[str, Queue[str]]]:
    """Where a page can tell what it found, and what it told."""
    told: Queue[str] = Queue()

    class Ear(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.path.startswith("/said"):
                told.put(unquote(self.path.partition("?")[2]))
            self.send_error(404)

        def log_message(self, *_: object) -> None: ...

    with ThreadingHTTPServer(("127.0.0.1", 0), Ear) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}/said?", told
        finally:
            server.shutdown()
            thread.join()


def test_a_browser_plays_and_seeks_it(tmp_path: Path) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if browser is None:
        pytest.skip("no chromium: apt-get install chromium")
    clip = written(tmp_path / "a.mp4", [n / 30 for n in range(COUNT)])
    page = tmp_path / "page.html"
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"]
    with listener() as (where, told):
        data = base64.b64encode(clip.read_bytes()).decode()
        page.write_text(PAGE.replace("WHERE", where).replace("DATA", data))
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        with subprocess.Popen([*command, "--remote-debugging-port=0", page.as_uri()], **quiet) as running:
            try:
                said = json.loads(told.get(timeout=60))
            finally:
                running.terminate()
    assert "error" not in said
    assert said["size"] == [320, 240]
    assert said["duration"] == pytest.approx(COUNT / 30, abs=1 / 30)
    assert [at for at, _ in said["at"]] == pytest.approx([1.2, 0.3, 1.7], abs=0.001)
    for at, bits in said["at"]:
        assert sum((level > 128) << bit for bit, level in enumerate(bits)) == pytest.approx(at * 30, abs=1.0)
