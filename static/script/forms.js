// All pages are complete without this script. It spares people waiting and double work.
(() => {
  "use strict";

  const summary = document.getElementById("summary");
  if (summary) summary.focus();

  // A second press while the first is on its way would send the form twice. Forms that are kept
  // and sent again by the page itself look after that themselves.
  const once = (event) => {
    const form = event.target.closest("form[method=post]:not([data-keep])");
    if (form?.dataset.sent) event.preventDefault();
    else if (form) {
      form.dataset.sent = "1";
      for (const button of form.querySelectorAll("button")) button.setAttribute("aria-disabled", "true");
    }
  };
  document.addEventListener("submit", once, true);

  // Coming back by the browser's own button shows the page as it was left: free the forms again.
  addEventListener("pageshow", () => {
    for (const one of document.querySelectorAll("form[data-sent], form[data-sent] button")) {
      delete one.dataset.sent;
      one.removeAttribute("aria-disabled");
    }
  });
})();
