// Forms with photos are sent again while the network is away: the same file twice is kept once.
(() => {
  "use strict";

  const send = async (form, body, told) => {
    for (let wait = 1000; ; wait = Math.min(2 * wait, 30000)) {
      try {
        const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
        if (answer.status < 500) return await answer.json();
      } catch (error) {
        if (error instanceof SyntaxError) return {};
        told.textContent = told.dataset.failed;
      }
      await new Promise((done) => setTimeout(done, wait));
    }
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.dataset.photos === undefined || event.defaultPrevented) return;
    event.preventDefault();
    const told = form.querySelector("[data-photos-state]");
    const files = form.elements.photo.files;
    told.hidden = false;
    let last = {};
    for (let n = 0; n < Math.max(1, files.length); n++) {
      const body = new FormData(form, event.submitter);
      if (files[n]) body.set("photo", files[n]);
      told.textContent = `${told.dataset.going} ${files.length ? `${n + 1}/${files.length}` : ""}`;
      last = await send(form, body, told);
      if (last.saved) continue;
      delete form.dataset.sent;
      for (const button of form.querySelectorAll("button")) button.removeAttribute("aria-disabled");
      if (files.length > 1 && last.errors) {
        told.textContent = [files[n].name, ...last.errors.map((error) => error.message)].join(" ");
        return;
      }
      // One page, one answer: let the server show it, with what is wrong above the form.
      delete form.dataset.photos;
      form.requestSubmit(event.submitter);
      return;
    }
    location.assign(last.next);
  });
})();
