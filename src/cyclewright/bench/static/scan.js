// Reads a tag's code where the browser can; where it cannot, the number is typed.

const page = document.querySelector("[data-scan]");
const formats = "BarcodeDetector" in window ? await formatsHere() : [];
if (page && formats.includes("qr_code")) start();

async function formatsHere() {
  try {
    return await BarcodeDetector.getSupportedFormats();
  } catch {
    return [];
  }
}

function start() {
  const $ = (what) => page.querySelector(what);
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  const video = $("[data-video]");
  let stream = null;
  $("[data-camera]").hidden = false;
  $("[data-live]").hidden = !navigator.mediaDevices?.getUserMedia;

  $("#tag-photo").addEventListener("change", async (event) => {
    const file = event.target.files[0];
    if (!file) return;
    try {
      const picture = await createImageBitmap(file);
      const found = await detector.detect(picture);
      picture.close();
      if (found.length) take(found[0].rawValue);
      else say("No code was found in this picture. Come nearer, or type the number.");
    } catch {
      say("This file cannot be read as a picture.");
    }
  });

  $("[data-live]").addEventListener("click", async () => {
    if (stream) return stop();
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      say("The camera cannot be used here: take a picture instead, or type the number.");
      return;
    }
    video.srcObject = stream;
    video.hidden = false;
    await video.play();
    say("Hold the code in the middle of the picture.");
    look();
  });

  async function look() {
    if (!stream) return;
    const found = await detector.detect(video).catch(() => []);
    if (found.length) {
      stop();
      take(found[0].rawValue);
    } else {
      setTimeout(look, 200);
    }
  }

  function stop() {
    for (const track of stream.getTracks()) track.stop();
    stream = null;
    video.hidden = true;
  }

  function say(words) {
    $("[data-words]").textContent = words;
  }

  function take(code) {
    $("#code").value = code;
    $("form").requestSubmit();
  }

  addEventListener("pagehide", () => stream && stop());
}
