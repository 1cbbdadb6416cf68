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
    // What waits lives in this page alone.
    onbeforeunload = (leaving) => leaving.preventDefault();
    let last = {};
    for (let n = 0; n < Math.max(1, files.length); n++) {
      const body = new FormData(form, event.submitter);
      if (files[n]) body.set("photo", files[n]);
      told.textContent = `${told.dataset.going} ${n + 1}/${files.length || 1}`;
      last = await send(form, body, told);
      if (last.saved) continue;
      onbeforeunload = null;
      // The form may be sent again.
      dispatchEvent(new Event("pageshow"));
      if (files.length > 1 && last.errors) {
        told.textContent = [files[n].name, ...last.errors.map((error) => error.message)].join(" ");
        return;
      }
      // Let the server show what is wrong.
      delete form.dataset.photos;
      form.requestSubmit(event.submitter);
      return;
    }
    onbeforeunload = null;
    location.assign(last.next);
  });
})();
