// A field to sign in. What is drawn goes with the form as numbers.
(() => {
  "use strict";

  const WIDTH = 1000;
  const HEIGHT = 360;
  const NEAR = 4;

  const start = (field) => {
    const hidden = field.querySelector("input[name=strokes]");
    const canvas = document.createElement("canvas");
    const again = document.createElement("button");
    let strokes = JSON.parse(hidden.value || "[]");
    let pen = null;

    Object.assign(canvas, { width: WIDTH, height: HEIGHT, role: "img", ariaLabel: field.dataset.label });
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
      const within = (part, most) => Math.min(Math.max(Math.round(part * most), 0), most);
      return [within((event.clientX - box.left) / box.width, WIDTH), within((event.clientY - box.top) / box.height, HEIGHT)];
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
      const stroke = strokes.at(-1);
      const [x, y] = stroke.at(-1);
      const next = place(event);
      if (Math.hypot(next[0] - x, next[1] - y) < NEAR) return;
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
