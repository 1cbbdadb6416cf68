// By how many times deviations are drawn: a slider in place of the buttons.
(() => {
  "use strict";

  for (const form of document.querySelectorAll("[data-times]")) {
    const slider = form.querySelector("input[type=range]");
    const place = form.parentElement.querySelector("[data-drawn]");
    const steps = [...form.querySelectorAll("button")];
    let drawn = slider.value;

    const say = (step) => {
      const words = steps[step].textContent;
      form.querySelector("output").textContent = words;
      slider.setAttribute("aria-valuetext", words);
    };
    slider.addEventListener("input", async () => {
      const step = slider.value;
      say(step);
      const query = `?${new URLSearchParams(new FormData(form, steps[step]))}`;
      try {
        const answer = await fetch(form.dataset.times + query);
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        if (step !== slider.value) return;
        place.replaceChildren(...page.querySelector("[data-drawn]").childNodes);
        drawn = step;
        history.replaceState(null, "", query);
      } catch {
        // Without network drawing and words stay.
        if (step === slider.value) say((slider.value = drawn));
      }
    });
    slider.hidden = false;
    form.querySelector(".steps").hidden = true;
  }
})();
