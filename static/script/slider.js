// By how many times deviations are drawn: a slider in place of the buttons.
(() => {
  "use strict";

  for (const form of document.querySelectorAll("[data-times]")) {
    const slider = form.querySelector("input[type=range]");
    const place = form.parentElement.querySelector("[data-drawn]");
    const said = form.querySelector("output");
    const steps = [...form.querySelectorAll("button")];
    let drawn = slider.value;
    let asked = 0;

    const say = (step) => {
      said.textContent = steps[step].textContent;
      slider.setAttribute("aria-valuetext", said.textContent);
    };
    const draw = async () => {
      const mine = ++asked;
      const step = slider.value;
      say(step);
      const query = new URLSearchParams(new FormData(form, steps[step]));
      try {
        const answer = await fetch(`${form.dataset.times}?${query}`);
        const text = await answer.text();
        if (mine !== asked) return;
        if (!answer.ok) throw new Error(answer.statusText);
        place.innerHTML = text;
        drawn = step;
        history.replaceState(null, "", `?${query}`);
      } catch {
        // Without the network the drawing stays, and so does what is said of it.
        if (mine === asked) say((slider.value = drawn));
      }
    };

    slider.hidden = false;
    form.querySelector(".steps").hidden = true;
    slider.addEventListener("input", draw);
  }
})();
