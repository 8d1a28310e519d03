// The phone as a level: seen live, taken once it lies still, with what was taken marked.

const ENOUGH = 25;
const STILL = 0.25; // how far the angle may wander in what is taken [degrees]
const PATIENCE = 8000;
const SECONDS = 6;
const TUBE = 10; // degrees at either end of the tube
const GRAVITY = 9.81;

const page = document.querySelector("[data-level]");
if (page) start();

function start() {
  const $ = (what) => page.querySelector(what);
  const sign = Number(page.dataset.sign);
  const trail = [];
  let up = null;
  let moved = -Infinity;
  let asked = null; // since when a take is wanted
  let first = null;
  let second = null;
  let turning = false;
  let silence = 0;
  let frozen = false; // the line stands still once something was taken, for it to be looked at

  $("[data-start]").addEventListener("click", begin);
  $("[data-take]").addEventListener("click", wait);
  $("[data-turn]").addEventListener("click", () => {
    turning = true;
    wait();
  });

  // Some phones ask their owner first, and only after a tap.
  async function begin() {
    trouble("");
    for (const kind of [globalThis.DeviceMotionEvent, globalThis.DeviceOrientationEvent]) {
      if (typeof kind?.requestPermission !== "function") continue;
      const answer = await kind.requestPermission().catch(() => "denied");
      if (answer !== "granted") {
        return trouble("The phone keeps its sensors to itself. Allow motion for this page, or type the angle.");
      }
    }
    if (!globalThis.isSecureContext) {
      return trouble("The level works on the paired, encrypted page alone. Pair this phone, or type the angle.");
    }
    addEventListener("devicemotion", motion);
    addEventListener("deviceorientation", orientation);
    $("[data-start]").hidden = true;
    $("[data-live]").hidden = false;
    page.dataset.running = "yes";
    clearTimeout(silence);
    silence = setTimeout(() => trail.length || none(), 2500);
  }

  function none() {
    $("[data-live]").hidden = true;
    $("[data-start]").hidden = false;
    trouble("This device has no level that a page may read. Use a phone, or type the angle.");
  }

  // Phones differ in the sign of what they call acceleration; which way is up they agree on.
  function motion(event) {
    const { x, y, z } = event.accelerationIncludingGravity ?? {};
    if (![x, y, z].every(Number.isFinite)) return;
    const against = up && x * up[0] + y * up[1] + z * up[2] < 0 ? -1 : 1;
    moved = performance.now();
    add([against * x, against * y, against * z]);
  }

  function orientation(event) {
    if (!Number.isFinite(event.beta) || !Number.isFinite(event.gamma)) return;
    const [front, side] = [event.beta, event.gamma].map((degrees) => (degrees * Math.PI) / 180);
    up = [-Math.cos(front) * Math.sin(side), Math.sin(front), Math.cos(front) * Math.cos(side)];
    if (performance.now() - moved > 500) add(up.map((share) => share * GRAVITY));
  }

  function add(sample) {
    const [x, y, z] = sample;
    const angle = (sign * Math.atan2(y, Math.hypot(x, z)) * 180) / Math.PI;
    const at = performance.now();
    trail.push({ at, angle, sample });
    while (trail.length > ENOUGH && (at - trail[0].at > SECONDS * 1000 || trail.length > 1200)) trail.shift();
    if ($("[data-live]").hidden) {
      $("[data-live]").hidden = false;
      $("[data-start]").hidden = true;
      trouble("");
    }
    show(angle);
    if (asked !== null) settle(at);
  }

  function show(angle) {
    $("[data-now]").textContent = degrees(angle);
    $("[data-way]").textContent = Math.abs(angle) < 0.05 ? "level" : way(angle);
    const off = Math.max(-1, Math.min(1, (sign * angle) / TUBE));
    $("[data-bubble]").setAttribute("cx", (150 + 133 * off).toFixed(1));
    if (!frozen) draw();
  }

  const degrees = (angle) => `${angle < -0.05 ? "−" : ""}${Math.abs(angle).toFixed(1)}°`;
  const way = (angle) => (sign * angle > 0 ? page.dataset.up : page.dataset.down);

  // The last seconds as a line; what was taken is shaded, its mean drawn across it.
  function draw(taken = null) {
    const end = trail.at(-1).at;
    const all = trail.map((one) => one.angle);
    const middle = (Math.min(...all) + Math.max(...all)) / 2;
    const reach = Math.max(1, (Math.max(...all) - Math.min(...all)) / 2);
    const x = (at) => 300 - ((end - at) / (SECONDS * 1000)) * 300;
    const y = (angle) => 30 - ((angle - middle) / reach) * 24;
    const line = trail.map(({ at, angle }) => `${x(at).toFixed(1)} ${y(angle).toFixed(1)}`);
    $("[data-trace]").setAttribute("d", `M${line.join("L")}`);
    frozen = taken !== null;
    $("[data-window]").setAttribute("width", "0");
    $("[data-mean]").setAttribute("d", "");
    if (!taken) return;
    const [from, to] = [x(taken[0].at), x(taken.at(-1).at)];
    $("[data-window]").setAttribute("x", from.toFixed(1));
    $("[data-window]").setAttribute("width", Math.max(2, to - from).toFixed(1));
    const level = y(mean(taken.map((one) => one.angle))).toFixed(1);
    $("[data-mean]").setAttribute("d", `M${from.toFixed(1)} ${level}H${Math.max(from + 2, to).toFixed(1)}`);
  }

  function wait() {
    asked = performance.now();
    frozen = false;
    hint(turning ? "Turn the phone end for end in the same place, and take your hand away." : "Hold still…");
    $("[data-result]").replaceChildren();
    $("[data-kept]").hidden = true;
  }

  // Taken as soon as enough samples since the tap lie together.
  function settle(at) {
    const since = trail.filter((one) => one.at >= asked).slice(-ENOUGH);
    const spread = deviation(since.map((one) => one.angle));
    if (since.length >= ENOUGH && spread < STILL && (!turning || opposite(since))) {
      asked = null;
      taken(since);
    } else if (at - asked > PATIENCE) {
      asked = null;
      turning = false;
      hint("It would not keep still. Lay it down and take it again.");
    }
  }

  // Turned end for end the long side slopes the other way, unless it lies nearly level.
  function opposite(since) {
    const now = mean(since.map((one) => one.angle));
    const before = first.mean;
    return Math.abs(before) < 1.5 || Math.sign(now) !== Math.sign(before);
  }

  async function taken(since) {
    const samples = since.map((one) => one.sample.map((part) => Math.round(part * 1000) / 1000));
    if (turning) second = samples;
    else {
      first = { samples, mean: mean(since.map((one) => one.angle)) };
      second = null;
    }
    turning = false;
    hint("Taken: the shaded part. Press the button to take it again.");
    draw(since);
    await measure();
  }

  async function measure() {
    const body = { kind: page.dataset.kind, samples: first.samples, turned: second };
    const result = $("[data-result]");
    const form = $("[data-kept]");
    form.elements.samples.value = written(first.samples);
    form.elements.turned.value = second ? written(second) : "";
    form.hidden = false;
    try {
      const answer = await fetch(page.dataset.level, {
        method: "POST",
        headers: { "Content-Type": "application/json", Accept: "text/html", "HX-Request": "true" },
        body: JSON.stringify(body),
      });
      result.innerHTML = await answer.text();
      form.hidden = !answer.ok;
    } catch {
      result.textContent = `Taken ${degrees(first.mean)}. Keep it: the bench works it out when the network is back.`;
    }
    result.scrollIntoView({ block: "nearest" });
  }

  const written = (samples) => samples.map((one) => one.map((part) => part.toFixed(2)).join(",")).join(";");

  function trouble(text) {
    $("[data-trouble]").hidden = !text;
    $("[data-trouble]").textContent = text;
  }

  function hint(text) {
    $("[data-hint]").textContent = text;
  }
}

function mean(values) {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function deviation(values) {
  if (values.length < 2) return Infinity;
  const middle = mean(values);
  return Math.sqrt(mean(values.map((value) => (value - middle) ** 2)));
}
