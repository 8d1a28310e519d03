// A signature drawn with finger or pen; it becomes the file of the field beside it, which without
// this script is still a photo of the signature on paper.

for (const block of document.querySelectorAll("[data-sign]")) {
  const input = document.getElementById(block.dataset.sign);
  const canvas = block.querySelector("canvas");
  const pen = canvas.getContext("2d");
  let last = null;

  const clear = () => {
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    input.value = "";
  };
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [
      ((event.clientX - box.left) * canvas.width) / box.width,
      ((event.clientY - box.top) * canvas.height) / box.height,
    ];
  };
  const line = (to) => {
    pen.lineWidth = 5;
    pen.lineCap = pen.lineJoin = "round";
    pen.strokeStyle = "#000";
    pen.beginPath();
    pen.moveTo(...last);
    pen.lineTo(...to);
    pen.stroke();
    last = to;
  };
  const keep = () => {
    if (!last) return;
    last = null;
    canvas.toBlob((blob) => {
      const files = new DataTransfer();
      files.items.add(new File([blob], "signature.png", { type: "image/png" }));
      input.files = files.files;
    }, "image/png");
  };

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    last = at(event);
    line(last);
  });
  canvas.addEventListener("pointermove", (event) => last && line(at(event)));
  canvas.addEventListener("pointerup", keep);
  canvas.addEventListener("pointercancel", keep);
  block.querySelector("button").addEventListener("click", clear);
  clear();
  block.hidden = false;
}
