// A field to sign in. What is drawn goes with the form as numbers.
(() => {
  "use strict";

  const WIDTH = 1000;
  const HEIGHT = 360;
  const NEAR = 4;

  const read = (text) => {
    try {
      return JSON.parse(text) || [];
    } catch {
      return [];
    }
  };

  const start = (field) => {
    const hidden = field.querySelector("input[name=strokes]");
    const canvas = document.createElement("canvas");
    const again = document.createElement("button");
    let strokes = read(hidden.value);
    let pen = null;

    canvas.width = WIDTH;
    canvas.height = HEIGHT;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", field.dataset.label);
    Object.assign(again, { type: "button", className: "quiet", textContent: field.dataset.again });
    field.append(canvas, again);
    field.querySelector("[data-without-script]").remove();
    for (const button of field.closest("form").querySelectorAll("[data-signs]")) button.hidden = false;

    const draw = () => {
      const ink = canvas.getContext("2d");
      ink.clearRect(0, 0, WIDTH, HEIGHT);
      ink.lineWidth = 7;
      ink.lineCap = ink.lineJoin = "round";
      ink.strokeStyle = getComputedStyle(canvas).color;
      for (const stroke of strokes) {
        ink.beginPath();
        ink.moveTo(...stroke[0]);
        for (const point of stroke) ink.lineTo(...point);
        ink.stroke();
      }
      hidden.value = strokes.length ? JSON.stringify(strokes) : "";
    };

    const place = (event) => {
      const box = canvas.getBoundingClientRect();
      const across = Math.round(((event.clientX - box.left) / box.width) * WIDTH);
      const down = Math.round(((event.clientY - box.top) / box.height) * HEIGHT);
      return [Math.min(Math.max(across, 0), WIDTH), Math.min(Math.max(down, 0), HEIGHT)];
    };

    canvas.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      canvas.setPointerCapture(event.pointerId);
      pen = event.pointerId;
      strokes.push([place(event)]);
      draw();
    });
    canvas.addEventListener("pointermove", (event) => {
      if (event.pointerId !== pen) return;
      const stroke = strokes[strokes.length - 1];
      const last = stroke[stroke.length - 1];
      const next = place(event);
      if (Math.hypot(next[0] - last[0], next[1] - last[1]) < NEAR) return;
      stroke.push(next);
      draw();
    });
    canvas.addEventListener("lostpointercapture", () => (pen = null));
    again.onclick = () => {
      strokes = [];
      draw();
    };
    draw();
  };

  for (const field of document.querySelectorAll("[data-signature]")) start(field);
})();
