// Check-in: who is on record, and what the frame number says, while one types.
(() => {
  "use strict";

  const PAUSE_MS = 250;
  const WATCHED = ["customer.name", "customer.phone", "machine.plate", "machine.frame_number"];

  const form = document.querySelector("[data-check-in]");
  if (!form) return;
  const photos = form.elements.photo;
  if (photos) photos.onchange = () => {
    let left = photos.dataset.mostBytes;
    for (const file of photos.files) left -= file.size;
    photos.setCustomValidity(left < 0 ? photos.dataset.tooMuch : "");
    photos.reportValidity();
  };
  const known = form.querySelector("[data-known-list]");
  const said = form.querySelector("[data-frame-said]");

  // Only the answer to the latest question is shown.
  const asker = (address, names, into) => {
    let waiting, asked = 0;
    const ask = async () => {
      const mine = ++asked;
      const body = new URLSearchParams();
      for (const name of ["form_token", ...names]) body.append(name, form.elements[name]?.value ?? "");
      // Without the network the button remains.
      const answer = await fetch(address, { method: "POST", body }).catch(() => null);
      if (!answer?.ok) return;
      const text = await answer.text();
      if (mine === asked) into.innerHTML = text;
    };
    return () => {
      clearTimeout(waiting);
      waiting = setTimeout(ask, PAUSE_MS);
    };
  };

  const askKnown = known && asker(form.dataset.known, WATCHED, known);
  const askFrame = said && asker(form.dataset.frameNumber, [WATCHED[3], "frame_number"], said);
  form.addEventListener("input", ({ target: { name } }) => {
    if (WATCHED.includes(name)) askKnown?.();
    if (name.endsWith("frame_number")) askFrame?.();
  });
  // Enter behind a telephone number asks who that is, and takes no machine in.
  form.addEventListener("keydown", (event) => {
    const button = form.querySelector(".look-up button");
    if (event.key !== "Enter" || event.target.name !== "customer.phone" || !button) return;
    event.preventDefault();
    button.click();
  });
})();
