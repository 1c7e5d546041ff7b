"use strict";
const PICTURE = 1, HEADER = 24, QUALITY = [0.95, 0.9, 0.8, 0.7], ENCODING = 2, UNSEEN = 8, LATE_MS = 150, BUFFER = 1e6, AGAIN_MS = 700, APART = 2e-4;
const WIDE = /ultra.?wide|0[.,]5 ?x|fish/i;
const part = (name) => document.getElementById(name);
const video = part("video"), guide = part("guide"), lens = part("lens");
const phone = [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
let link = null, linked = false, over = false, asked = null, stream = null, opening = null, lock = null, sounder = null;
let number = 0, encoding = 0, dropped = 0, lately = [0, 0], quality = 0, flipped = false, held = false, sounding = false, mediaLag = quickest();
let canvas = null, direct = null, order = Promise.resolve();
const unseen = new Map(), sounds = new Map();

function say(words, detail = "") { part("words").textContent = words; part("detail").textContent = detail; }
function send(what) { if (link && link.readyState === WebSocket.OPEN) link.send(typeof what === "object" && !(what instanceof ArrayBuffer) ? JSON.stringify(what) : what); }
function track() { return stream ? stream.getVideoTracks()[0] : null; }

function connect() {
  if (over) return;
  link = new WebSocket(location.href.replace(/^http/, "ws"));
  link.binaryType = "arraybuffer";
  link.onopen = () => send({ t: "hello", phone });
  link.onmessage = (event) => typeof event.data === "string" ? heard(JSON.parse(event.data)) : keepSound(event.data);
  link.onclose = () => {
    linked = false; unseen.clear();
    if (over) return;
    say("Not linked", "Looking for the trainer; if it was ended, close this page.");
    setTimeout(connect, AGAIN_MS);
  };
}

function heard(message) {
  if (message.t === "ping") {
    send({ t: "pong", n: message.n, at: performance.now() });
    if (linked && video.videoWidth) tellLink(message);
  } else if (message.t === "got") {
    for (const n of unseen.keys()) if (n <= message.n) unseen.delete(n);
  } else if (message.t === "welcome") {
    asked = message; linked = true; dropped = 0;
    say("Linked", "Allow the camera if you are asked.");
    openCamera();
  } else if (message.t === "cue") {
    play(message.name);
  } else if (message.t === "refused") {
    over = true; say("Not linked", message.why);
  }
}

function tellLink(message) {
  const size = `${video.videoWidth}x${video.videoHeight}`;
  const left = dropped ? `, ${dropped} left out` : "";
  if (message.turn) say("Turn the phone back", message.turn);
  else if (document.hidden) return;
  else say(message.fps ? "Filming" : "Linked", `${size}, ${message.fps} pictures a second, ${message.late} ms on their way${left}`);
  state();
}

function state() {
  const settings = track() ? track().getSettings() : {};
  send({ t: "state", rate: settings.frameRate || null, dropped, held, sounds: sounding });
}

async function openCamera(id = null) {
  if (opening || (!id && track() && track().readyState === "live")) return;
  opening = true;
  const which = id ? { deviceId: { exact: id } } : { facingMode: { ideal: "environment" } };
  const wish = { ...which, width: { ideal: asked.width }, height: { ideal: asked.height }, frameRate: { ideal: asked.rate } };
  try {
    if (stream) stream.getTracks().forEach((each) => each.stop());
    stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: wish });
    held = false; mediaLag = quickest();
    track().onended = () => { if (!over) say("The camera stopped", "Another program took it. Come back to this page."); };
    const can = track().getCapabilities ? track().getCapabilities() : {};
    if (can.zoom && can.zoom.min < 1 && can.zoom.max >= 1) await track().applyConstraints({ advanced: [{ zoom: 1 }] });
    part("hold").hidden = !lockable(can);
    video.srcObject = stream;
    await video.play();
    filmDirectly(track());
    await listLenses();
    awake();
  } catch (error) {
    say("No camera", error.name === "NotAllowedError" ? "Allow this page the camera in the browser's settings, then load it again." : `${error.name}: ${error.message}`);
  } finally { opening = null; }
}

async function listLenses() {
  const all = (await navigator.mediaDevices.enumerateDevices()).filter((each) => each.kind === "videoinput");
  const now = track() ? track().getSettings().deviceId : null;
  lens.replaceChildren(...all.map((each, k) => {
    const choice = new Option(each.label || `Camera ${k + 1}`, each.deviceId, false, each.deviceId === now);
    if (WIDE.test(each.label)) { choice.disabled = true; choice.text += " (bends straight lines)"; }
    return choice;
  }));
  part("lenses").hidden = all.length < 2;
  const chosen = all.find((each) => each.deviceId === now), other = all.find((each) => !WIDE.test(each.label));
  if (chosen && WIDE.test(chosen.label) && other) setTimeout(() => openCamera(other.deviceId), 0);
}

function lockable(can) { return ["exposureMode", "focusMode", "whiteBalanceMode"].some((name) => (can[name] || []).includes("manual")); }

async function hold() {
  const can = track().getCapabilities(), now = track().getSettings(), wish = {};
  for (const [mode, values] of [["exposureMode", ["exposureTime", "iso"]], ["focusMode", ["focusDistance"]], ["whiteBalanceMode", ["colorTemperature"]]]) {
    if (!(can[mode] || []).includes(held ? "continuous" : "manual")) continue;
    wish[mode] = held ? "continuous" : "manual";
    if (!held) for (const value of values) if (now[value] !== undefined) wish[value] = now[value];
  }
  try { await track().applyConstraints({ advanced: [wish] }); held = !held; } catch (error) { say("Light and focus", "This camera does not let them be held."); }
  part("hold").setAttribute("aria-pressed", held); state();
}

/* Lays a stream's own times (ms) on this page's clock by the pictures that came quickest. Two clocks drift apart by APART at most,
   so that what was quickest an hour ago does not count for ever. */
function quickest() {
  let lag = Infinity, last = 0;
  return (time, now) => {
    lag = Math.min(lag + APART * Math.max(0, time - last), now - time);
    last = time;
    return time + lag;
  };
}

/* The moment a picture was taken, on this page's clock: the camera's own word, else its stream's time laid on the quickest picture's. */
function taken(now, meta) {
  if (meta.captureTime !== undefined) return meta.captureTime;
  if (meta.mediaTime > 0) return mediaLag(1000 * meta.mediaTime, now);
  return now;
}

/* Worse pictures make a link faster, not a processor: they are no help to a phone that has no time to encode. */
function left(byLink) { dropped += 1; if (byLink) lately[1] += 1; }

/* From what the page shows: every browser can, but a page that is slow to draw loses pictures. */
function onFrame(now, meta) {
  video.requestVideoFrameCallback(onFrame);
  placeGuide();
  if (direct !== track()) take(video, video.videoWidth, video.videoHeight, taken(now, meta));
}

/* Straight from the camera where the browser can, drawn or not; a picture that is not as shown (turned) is left to the other way. */
async function filmDirectly(from) {
  if (!self.MediaStreamTrackProcessor) return;
  const reader = new MediaStreamTrackProcessor({ track: from }).readable.getReader();
  const lag = quickest();
  try {
    while (from === track() && from.readyState === "live") {
      const { value: frame, done } = await reader.read();
      if (done) break;
      const at = lag(frame.timestamp / 1000, performance.now());
      direct = !frame.rotation && frame.displayWidth === video.videoWidth && frame.displayHeight === video.videoHeight ? from : null;
      if (direct) take(frame, frame.displayWidth, frame.displayHeight, at);
      frame.close();
    }
  } catch (error) { /* the shown pictures go on */ } finally { direct = null; reader.cancel().catch(() => {}); }
}

function take(image, width, height, at) {
  const oldest = unseen.values().next();
  number += 1;  // while it is not linked too: those pictures are lost
  if (!linked) return;
  lately[0] += 1;
  if (lately[0] >= 60) {
    const share = lately[1] / lately[0];
    if (share > 0.1) quality = Math.min(quality + 1, QUALITY.length - 1); else if (share === 0) quality = Math.max(quality - 1, 0);
    lately = [0, 0];
  }
  const late = !oldest.done && performance.now() - oldest.value > LATE_MS;
  const slow = unseen.size >= UNSEEN || late || link.bufferedAmount > BUFFER;
  if (slow || encoding >= ENCODING) { left(slow); return; }
  encoding += 1;
  const mine = number, blob = encoded(image, width, height);
  order = order.then(async () => {
    try {
      const jpeg = new Uint8Array(await (await blob).arrayBuffer()), message = new Uint8Array(HEADER + jpeg.length), head = new DataView(message.buffer);
      const sent = performance.now();
      head.setUint8(0, PICTURE); head.setUint32(4, mine, true); head.setFloat64(8, at, true); head.setFloat64(16, sent, true);
      message.set(jpeg, HEADER);
      if (linked) { unseen.set(mine, sent); send(message.buffer); }
    } catch (error) { left(false); } finally { encoding -= 1; }
  });
}

function encoded(image, width, height) {
  if (!canvas || canvas.width !== width || canvas.height !== height) {
    canvas = self.OffscreenCanvas ? new OffscreenCanvas(width, height) : Object.assign(document.createElement("canvas"), { width, height });
  }
  const on = canvas.getContext("2d", { alpha: false });
  on.setTransform(flipped ? -1 : 1, 0, 0, 1, flipped ? width : 0, 0);
  on.drawImage(image, 0, 0, width, height);
  const as = { type: "image/jpeg", quality: QUALITY[quality] };
  return canvas.convertToBlob ? canvas.convertToBlob(as) : new Promise((done, no) => canvas.toBlob((blob) => blob ? done(blob) : no(), as.type, as.quality));
}

/* The frame for the player, laid on the part of the element that the picture fills. */
function placeGuide() {
  const box = part("view"), width = video.videoWidth, height = video.videoHeight;
  guide.hidden = !asked || !width;
  if (guide.hidden) return;
  const scale = Math.min(box.clientWidth / width, box.clientHeight / height), [top, bottom, wide] = asked.guide, high = (bottom - top) * height * scale;
  const x = (box.clientWidth - scale * width) / 2, y = (box.clientHeight - scale * height) / 2;
  const across = Math.min(wide * high, 0.98 * width * scale), from = x + (width * scale - across) / 2;
  Object.assign(guide.style, { left: `${from}px`, top: `${y + top * scale * height}px`, width: `${across}px`, height: `${high}px` });
}

async function awake() {
  try { if (navigator.wakeLock && !document.hidden && (!lock || lock.released)) lock = await navigator.wakeLock.request("screen"); } catch (error) { /* the phone saves its battery */ }
}

async function keepSound(data) {
  const bytes = new Uint8Array(data), end = 1 + bytes[0], name = new TextDecoder().decode(bytes.subarray(1, end));
  if (sounder) sounds.set(name, await sounder.decodeAudioData(data.slice(end)));
}

function play(name) {
  if (!sounding || !sounds.has(name)) return;
  const source = sounder.createBufferSource();
  source.buffer = sounds.get(name); source.connect(sounder.destination); source.start();
  send({ t: "sounded", name, late: 1000 * ((sounder.baseLatency || 0) + (sounder.outputLatency || 0)) });
}

part("sound").onclick = async () => {
  sounding = !sounding;
  if (sounding && !sounder) { sounder = new AudioContext({ latencyHint: "interactive" }); send({ t: "sounds" }); }
  if (sounder) await (sounding ? sounder.resume() : sounder.suspend());
  part("sound").setAttribute("aria-pressed", sounding); state();
};
part("flip").onclick = () => { flipped = !flipped; video.classList.toggle("flipped", flipped); part("flip").setAttribute("aria-pressed", flipped); };
part("hold").onclick = hold;
part("end").onclick = () => { over = true; send({ t: "end" }); if (stream) stream.getTracks().forEach((each) => each.stop()); say("Ended", "You may close this page."); part("end").hidden = true; };
lens.onchange = () => openCamera(lens.value);
document.onvisibilitychange = () => { if (!document.hidden && asked && !over) { awake(); openCamera(); } };

if (!navigator.mediaDevices || !video.requestVideoFrameCallback) say("This browser is too old", "It cannot tell when a picture was taken. Try a newer one.");
else { video.requestVideoFrameCallback(onFrame); connect(); }
