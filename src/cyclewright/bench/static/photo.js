// Points on a side photo, set by finger, mouse or arrow keys. The picture is drawn here and never
// sent; what is sent are the points' places.

const ZOOM = 3;
const LENS = 64;
// How near a finger takes hold of a point [px]: less while the next one is still to be set.
const REACH = 30;
const CLOSE = 12;

const page = document.querySelector("[data-photo]");
if (page) start();

function start() {
  const $ = (what) => page.querySelector(what);
  const canvas = $("[data-canvas]");
  const pen = canvas.getContext("2d");
  const buttons = [...page.querySelectorAll("[data-point]")];
  const names = buttons.map((button) => button.dataset.point);
  const label = (name) => buttons[names.indexOf(name)].textContent.trim();
  const points = new Map();
  let picture = null;
  let chosen = names[0];
  let drag = null;

  $("#side-photo").addEventListener("change", async (event) => {
    const file = event.target.files[0];
    if (!file) return;
    let next;
    try {
      next = await createImageBitmap(file);
    } catch {
      hint("This file cannot be read as a picture. Choose a photo.");
      return;
    }
    picture?.close();
    picture = next;
    points.clear();
    $("[data-result]").replaceChildren();
    for (const part of ["[data-stage]", "[data-points]", "[data-then]"]) $(part).hidden = false;
    $("[data-how]").open = false;
    $("[data-choose]").textContent = "Another photo";
    fit();
    choose(names[0]);
    page.dataset.picture = "yes";
  });

  addEventListener("resize", () => picture && fit());

  for (const button of buttons) {
    button.addEventListener("click", () => choose(button.dataset.point));
    button.addEventListener("keydown", keys);
  }
  canvas.addEventListener("keydown", keys);
  canvas.addEventListener("pointerdown", down);
  canvas.addEventListener("pointermove", move);
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  $("[data-measure]").addEventListener("click", measure);

  function fit() {
    const wide = canvas.parentElement.clientWidth;
    const scale = Math.min(wide / picture.width, (innerHeight * 0.72) / picture.height);
    const sharp = Math.min(2, devicePixelRatio || 1);
    canvas.width = Math.round(picture.width * scale * sharp);
    canvas.height = Math.round(picture.height * scale * sharp);
    canvas.dataset.scale = String(scale * sharp);
    draw();
  }

  const scale = () => Number(canvas.dataset.scale);

  // Where a pointer is, in the picture's own pixels.
  function place(event) {
    const box = canvas.getBoundingClientRect();
    return [
      ((event.clientX - box.left) / box.width) * picture.width,
      ((event.clientY - box.top) / box.height) * picture.height,
    ];
  }

  function down(event) {
    if (!picture) return;
    event.preventDefault();
    canvas.focus({ preventScroll: true });
    canvas.setPointerCapture(event.pointerId);
    const at = place(event);
    const wide = points.has(chosen) ? REACH : CLOSE;
    const reach = (wide * picture.width) / canvas.getBoundingClientRect().width;
    const near = [...points]
      .map(([name, [x, y]]) => [Math.hypot(x - at[0], y - at[1]), name])
      .filter(([far]) => far < reach)
      .sort((one, other) => one[0] - other[0])[0];
    if (near) {
      choose(near[1]);
      const [x, y] = points.get(near[1]);
      drag = { id: event.pointerId, off: [x - at[0], y - at[1]], fresh: false };
    } else {
      drag = { id: event.pointerId, off: [0, 0], fresh: !points.has(chosen) };
      put(chosen, at);
    }
    draw(at);
  }

  function move(event) {
    if (drag?.id !== event.pointerId) return;
    const at = place(event);
    put(chosen, [at[0] + drag.off[0], at[1] + drag.off[1]]);
    draw(at);
  }

  function up(event) {
    if (drag?.id !== event.pointerId) return;
    const { fresh } = drag;
    drag = null;
    if (fresh) after();
    draw();
  }

  function after() {
    const next = names.find((name) => !points.has(name));
    if (next) choose(next);
    else hint("Every point is set. Drag one to put it right, then show the angles.");
  }

  function put(name, [x, y]) {
    const inside = (value, most) => Math.min(most, Math.max(0, value));
    points.set(name, [inside(x, picture.width), inside(y, picture.height)]);
    buttons[names.indexOf(name)].classList.add("set");
  }

  function choose(name) {
    chosen = name;
    for (const button of buttons) {
      button.setAttribute("aria-pressed", String(button.dataset.point === name));
      button.classList.toggle("set", points.has(button.dataset.point));
    }
    const where = buttons[names.indexOf(name)].dataset.where;
    hint(points.has(name) ? `${label(name)}: drag it, or use the arrow keys.` : `${label(name)}: ${where}`);
    if (picture) draw();
  }

  function hint(text) {
    page.querySelector("[data-hint]").textContent = text;
  }

  function keys(event) {
    const step = event.shiftKey ? 10 : 1;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (!picture) return;
    if (event.key === "PageDown" || event.key === "PageUp") {
      event.preventDefault();
      const turn = event.key === "PageDown" ? 1 : names.length - 1;
      choose(names[(names.indexOf(chosen) + turn) % names.length]);
      return;
    }
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    const [x, y] = points.get(chosen) ?? [picture.width / 2, picture.height / 2];
    put(chosen, [x + way[0] * step, y + way[1] * step]);
    const [left, top] = points.get(chosen).map(Math.round);
    hint(`${label(chosen)}: ${left} across, ${top} down.`);
    draw(points.get(chosen));
  }

  const colour = (name) => getComputedStyle(page).getPropertyValue(`--${name}`).trim();
  const LINES = [["rear_axle", "front_axle"], ["hip", "knee", "ankle"], ["hip", "shoulder", "elbow", "wrist"]];

  function draw(finger = null) {
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    marks(scale(), 0, 0);
    if (finger && points.has(chosen)) lens(finger);
  }

  // Points and lines, dark under light so that they show on any picture.
  function marks(by, left, top) {
    const at = (name) => {
      const [x, y] = points.get(name);
      return [x * by + left, y * by + top];
    };
    for (const [width, stroke] of [[7, "#000a"], [3, "#fff"]]) {
      pen.strokeStyle = stroke;
      pen.lineWidth = width;
      for (const chain of LINES) {
        const there = chain.filter((name) => points.has(name));
        pen.beginPath();
        there.forEach((name, index) => pen[index ? "lineTo" : "moveTo"](...at(name)));
        pen.stroke();
      }
    }
    for (const name of points.keys()) {
      const size = name === chosen ? 15 : 10;
      pen.beginPath();
      pen.arc(...at(name), size, 0, 2 * Math.PI);
      pen.fillStyle = name === chosen ? colour("spruce") : "#fff";
      pen.globalAlpha = name === chosen ? 0.35 : 0.25;
      pen.fill();
      pen.globalAlpha = 1;
      for (const [width, stroke] of [[6, "#000a"], [3, name === chosen ? "#fff" : "#ddd"]]) {
        pen.lineWidth = width;
        pen.strokeStyle = stroke;
        pen.stroke();
      }
    }
  }

  // A magnifier in the upper corner that the finger is farther from.
  function lens([x]) {
    const sharp = canvas.width / canvas.getBoundingClientRect().width;
    const size = LENS * sharp;
    const [px, py] = points.get(chosen);
    const left = x > picture.width / 2 ? size + 10 : canvas.width - size - 10;
    const top = size + 10;
    const by = scale() * ZOOM;
    pen.save();
    pen.beginPath();
    pen.arc(left, top, size, 0, 2 * Math.PI);
    pen.fillStyle = "#222";
    pen.fill();
    pen.clip();
    pen.drawImage(picture, left - px * by, top - py * by, picture.width * by, picture.height * by);
    for (const [width, stroke] of [[4 * sharp, "#000a"], [1.5 * sharp, "#fff"]]) {
      pen.lineWidth = width;
      pen.strokeStyle = stroke;
      pen.beginPath();
      for (const [from, to] of [[-size, -8 * sharp], [8 * sharp, size]]) {
        pen.moveTo(left + from, top);
        pen.lineTo(left + to, top);
        pen.moveTo(left, top + from);
        pen.lineTo(left, top + to);
      }
      pen.stroke();
    }
    pen.restore();
    for (const [width, stroke] of [[6 * sharp, "#000a"], [3 * sharp, "#fff"]]) {
      pen.lineWidth = width;
      pen.strokeStyle = stroke;
      pen.beginPath();
      pen.arc(left, top, size, 0, 2 * Math.PI);
      pen.stroke();
    }
  }

  async function measure() {
    const result = page.querySelector("[data-result]");
    const places = Object.fromEntries(
      [...points].map(([name, at]) => [name, at.map((value) => Math.round(value * 10) / 10)]),
    );
    const body = {
      points: places,
      size: [picture.width, picture.height],
      taken: page.querySelector("input[name=taken]:checked").value,
      distance: Number.parseFloat(page.querySelector("#distance").value) || 0,
    };
    try {
      const answer = await fetch(page.dataset.photo, {
        method: "POST",
        headers: { "Content-Type": "application/json", Accept: "text/html", "HX-Request": "true" },
        body: JSON.stringify(body),
      });
      const text = await answer.text();
      result.innerHTML = text;
    } catch {
      result.textContent = "This needs the network. The points stay: press again when it is back.";
    }
    result.scrollIntoView({ block: "nearest" });
  }
}
