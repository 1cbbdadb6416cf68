// Photos go one by one, and again while the network is away: the same file twice is kept once.
(() => {
  "use strict";

  const pause = (ms) => new Promise((done) => setTimeout(done, ms));

  const send = async (form, file, told) => {
    const body = new FormData(form);
    body.delete("photo");
    body.append("photo", file);
    for (let wait = 1000; ; wait = Math.min(2 * wait, 30000)) {
      try {
        // The answer to what was taken is a redirect: nobody needs the page behind it yet.
        const answer = await fetch(form.action, { method: "POST", body, redirect: "manual" });
        if (answer.status < 500) return answer;
      } catch {
        told.textContent = told.dataset.failed;
      }
      await pause(wait);
    }
  };

  const refusal = async (answer) => {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const words = page.querySelector("#summary ul") || page.querySelector("main");
    return words ? words.textContent.trim() : String(answer.status);
  };

  for (const form of document.querySelectorAll("form[data-photos]")) {
    const told = form.querySelector("[data-photos-state]");
    const chosen = form.querySelector("input[type=file]");
    form.addEventListener("submit", async (event) => {
      const files = [...chosen.files];
      if (!files.length || event.defaultPrevented) return;
      event.preventDefault();
      told.hidden = false;
      for (const [n, file] of files.entries()) {
        told.textContent = told.dataset.going.replace("{n}", n + 1).replace("{all}", files.length);
        const answer = await send(form, file, told);
        if (answer.type === "opaqueredirect") continue;
        told.textContent = `${file.name}: ${await refusal(answer)}`;
        delete form.dataset.sent;
        for (const button of form.querySelectorAll("button")) button.removeAttribute("aria-disabled");
        return;
      }
      location.assign(form.action);
    });
  }
})();
