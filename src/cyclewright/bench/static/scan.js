// Reads a tag's code from the camera or a picture: with the browser's own reader where it has one,
// with ours where not. Pictures stay on this device. The number can always be typed.

const LOOK = 200;
const SIZES = [900, 1800, Infinity];
const page = document.querySelector("[data-scan]");
const $ = (what) => page.querySelector(what);
const video = $("[data-video]");
const reader = await found();
let stream = null;
if (reader) start();

async function found() {
  const kinds = { formats: ["qr_code"] };
  try {
    const own = await globalThis.BarcodeDetector?.getSupportedFormats();
    if (own?.includes("qr_code")) return new BarcodeDetector(kinds);
    return new (await import("./vendor/qr/decode.js")).BarcodeDetector(kinds);
  } catch {
    return null;
  }
}

function start() {
  $("[data-camera]").hidden = false;
  $("[data-live]").hidden = !navigator.mediaDevices?.getUserMedia;
  $("#tag-photo").addEventListener("change", (event) => {
    const [file] = event.target.files;
    event.target.value = "";
    if (file) fromPicture(file);
  });
  $("[data-live]").addEventListener("click", () => (stream ? stop() : live()));
  addEventListener("pagehide", () => stream && stop());
}

async function fromPicture(file) {
  try {
    say("Looking for the code.");
    const picture = await createImageBitmap(file);
    const code = await sought(picture);
    picture.close();
    if (code) take(code);
    else say("No code was found in this picture. Come nearer, or type the number.");
  } catch {
    say("This file cannot be read as a picture.");
  }
}

// Small first, which is quick and evens out grain; larger when the code is a small part of it.
async function sought(picture) {
  const largest = Math.max(picture.width, picture.height);
  for (const size of SIZES) {
    const scale = Math.min(1, size / largest);
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const [code] = await reader.detect(canvas);
    if (code || scale === 1) return code?.rawValue;
  }
}

async function live() {
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  } catch {
    say("The camera cannot be used here: take a picture instead, or type the number.");
    return;
  }
  video.srcObject = stream;
  show(true);
  await video.play();
  say("Hold the code in the middle of the picture.");
  look();
}

async function look() {
  if (!stream) return;
  const [code] = await reader.detect(video).catch(() => []);
  if (!stream) return;
  if (code) {
    stop();
    take(code.rawValue);
  } else {
    setTimeout(look, LOOK);
  }
}

function stop() {
  for (const track of stream.getTracks()) track.stop();
  stream = null;
  show(false);
}

function show(on) {
  video.hidden = !on;
  $("[data-live]").setAttribute("aria-pressed", on);
}

function say(words) {
  $("[data-words]").textContent = words;
}

function take(code) {
  $("#code").value = code;
  $("form").requestSubmit();
}
