// Check-in: who is on record, and what the frame number says, while somebody still types.
(() => {
  "use strict";

  const PAUSE_MS = 250;
  const WATCHED = ["customer.name", "customer.phone", "machine.plate", "machine.frame_number"];

  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }

  const form = document.querySelector("[data-check-in]");
  if (!form) return;
  const known = form.querySelector("[data-known-list]");
  const said = form.querySelector("[data-frame-said]");

  // Of answers that overtake each other only the one to the latest question is shown.
  const asker = (address, names, into) => {
    let asked = 0;
    let waiting = null;
    const ask = async () => {
      const mine = ++asked;
      const body = new URLSearchParams();
      for (const name of ["form_token", ...names]) {
        const field = form.elements.namedItem(name);
        if (field) body.append(name, field.value);
      }
      try {
        const answer = await fetch(address, { method: "POST", body });
        const text = await answer.text();
        if (answer.ok && mine === asked) into.innerHTML = text;
      } catch {
        // Without the network the button that looks it up remains.
      }
    };
    return () => {
      clearTimeout(waiting);
      waiting = setTimeout(ask, PAUSE_MS);
    };
  };

  const askKnown = known && asker(form.dataset.known, WATCHED, known);
  const askFrame = said && asker(form.dataset.frameNumber, ["machine.frame_number"], said);
  form.addEventListener("input", (event) => {
    if (askKnown && WATCHED.includes(event.target.name)) askKnown();
    if (askFrame && event.target.name === "machine.frame_number") askFrame();
  });
})();
