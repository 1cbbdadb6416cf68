// Looks whether the page would say something else by now.
(() => {
  "use strict";

  const page = document.querySelector("[data-mark]");
  const look = async () => {
    const answer = await fetch(page.dataset.at).catch(() => 0);
    if (answer.ok && (await answer.text()) !== page.dataset.mark) location.reload();
  };
  if (page) setInterval(look, 1000);
})();
