// A new take: recorded here as plain sound, or a file that was brought; kept and heard by the app.

import { say, send } from "./house.js";

const leaf = document.querySelector(".takes-leaf");
const record = leaf.querySelector(".record");
const ran = leaf.querySelector(".ran");
const loud = leaf.querySelector(".loud path");
const back = leaf.querySelector(".played-back");
const player = leaf.querySelector('[name="player"]');
const coming = leaf.querySelector(".coming");
/** The longest take, in seconds, and in bytes: what the app takes in at once. */
const LONGEST = 900;
const MOST = 64 * 1024 * 1024 - 1024;

function said(words) {
  coming.textContent = words;
}

player?.addEventListener("change", () => {
  location.search = player.value ? `?player=${player.value}` : "";
});

// Recording.

let tape = null;

async function begin() {
  const stream = await navigator.mediaDevices.getUserMedia({
    // As it sounds in the room: what makes speech clear spoils music.
    audio: { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false },
  });
  const context = new AudioContext();
  await context.audioWorklet.addModule("/assets/tape.js");
  const node = new AudioWorkletNode(context, "tape", { numberOfOutputs: 0 });
  const source = context.createMediaStreamSource(stream);
  tape = { stream, context, source, node, parts: [], samples: 0 };
  node.port.onmessage = ({ data }) => heard(data);
  source.connect(node);
}

function heard(sound) {
  if (!tape) return;
  tape.parts.push(sound);
  tape.samples += sound.length;
  const seconds = tape.samples / tape.context.sampleRate;
  let peak = 0;
  for (const value of sound) peak = Math.max(peak, Math.abs(value));
  tape.peak = Math.max(peak, (tape.peak ?? 0) * 0.97);
  if (Math.floor(seconds * 10) !== tape.shown) {
    tape.shown = Math.floor(seconds * 10);
    ran.textContent = `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
    loud.setAttribute("d", `M0 3L${Math.min(100, tape.peak * 100).toFixed(1)} 3`);
  }
  if (seconds >= LONGEST || 44 + 2 * tape.samples >= MOST) {
    end();
    said("That is the longest take that can be kept: the tape stopped by itself. It is kept when you say so.");
  }
}

function end() {
  const { stream, context, source, node, parts, samples } = tape;
  const rate = context.sampleRate;
  tape = null;
  source.disconnect();
  node.port.onmessage = null;
  for (const track of stream.getTracks()) track.stop();
  context.close();
  pressed(false);
  if (samples < rate / 2) {
    said("That was too short to be heard; record again.");
    return;
  }
  take = wav(parts, samples, rate);
  back.hidden = false;
  back.querySelector(".keep").focus();
  said("Recorded. It is kept when you say so.");
}

/** Sound as a file: 16 bits, one channel. Source: the RIFF container's usual PCM form. */
function wav(parts, samples, rate) {
  const bytes = new DataView(new ArrayBuffer(44 + samples * 2));
  const word = (at, text) => [...text].forEach((letter, index) => bytes.setUint8(at + index, letter.charCodeAt(0)));
  word(0, "RIFF");
  bytes.setUint32(4, 36 + samples * 2, true);
  word(8, "WAVEfmt ");
  bytes.setUint32(16, 16, true);
  bytes.setUint16(20, 1, true);
  bytes.setUint16(22, 1, true);
  bytes.setUint32(24, rate, true);
  bytes.setUint32(28, rate * 2, true);
  bytes.setUint16(32, 2, true);
  bytes.setUint16(34, 16, true);
  word(36, "data");
  bytes.setUint32(40, samples * 2, true);
  let at = 44;
  for (const part of parts) {
    for (const value of part) {
      bytes.setInt16(at, Math.max(-1, Math.min(1, value)) * 32767, true);
      at += 2;
    }
  }
  return new Blob([bytes], { type: "audio/wav" });
}

function pressed(on) {
  record.setAttribute("aria-pressed", String(on));
  record.textContent = on ? "Stop" : "Record";
}

let take = null;

record.addEventListener("click", async () => {
  if (tape) {
    end();
    return;
  }
  quiet();
  back.hidden = true;
  take = null;
  said("");
  try {
    await begin();
    pressed(true);
    say("Recording.");
  } catch (error) {
    said(error.name === "NotAllowedError" || error.name === "NotFoundError"
      ? "The browser gives no microphone: allow it for this page, or bring a recording as a file."
      : error.message);
  }
});

// What was just recorded, before it is kept.
let sounding = null;
const hearBack = back.querySelector(".hear-back");

function quiet() {
  sounding?.stop();
  sounding = null;
  hearBack.textContent = "Hear it";
}

hearBack.addEventListener("click", async () => {
  if (sounding) {
    quiet();
    return;
  }
  const context = new AudioContext();
  const source = context.createBufferSource();
  source.buffer = await context.decodeAudioData(await take.arrayBuffer());
  source.connect(context.destination);
  source.onended = () => {
    context.close();
    if (sounding === source) quiet();
  };
  source.start();
  sounding = source;
  hearBack.textContent = "Stop";
});

back.querySelector(".drop").addEventListener("click", () => {
  quiet();
  take = null;
  back.hidden = true;
  said("Let go.");
  record.focus();
});

back.querySelector(".keep").addEventListener("click", () => {
  const now = new Date();
  const two = (number) => String(number).padStart(2, "0");
  const name = `take ${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())} ${two(now.getHours())}.${two(now.getMinutes())}.${two(now.getSeconds())}.wav`;
  if (take) bring(name, take);
});

leaf.querySelector('[name="file"]').addEventListener("change", ({ target }) => {
  const file = target.files[0];
  if (file) bring(file.name, file);
});

/** Sends a sound and goes to what was heard in it. */
async function bring(name, sound) {
  said("Listening …");
  const query = new URLSearchParams({ name });
  if (player?.value) query.set("player", player.value);
  try {
    const answer = await (await send(`/takes/${leaf.dataset.piece}/sound?${query}`, sound)).json();
    location.assign(`/take/${answer.take}`);
  } catch (error) {
    said(error.message);
  }
}
