// All pages are complete without this script.
(() => {
  "use strict";

  document.getElementById("summary")?.focus();

  const print = document.querySelector("[data-print]");
  if (print) {
    print.hidden = false;
    print.onclick = () => window.print();
  }

  const free = () => {
    for (const one of document.querySelectorAll("form[data-sent], form[data-sent] button")) {
      delete one.dataset.sent;
      one.removeAttribute("aria-disabled");
    }
  };
  // A second press would send it twice; forms that are kept see to that.
  const once = (event) => {
    const form = event.target.closest("form[method=post]:not([data-keep])");
    if (form?.dataset.sent) event.preventDefault();
    else if (form) {
      form.dataset.sent = "1";
      for (const button of form.querySelectorAll("button")) button.setAttribute("aria-disabled", "true");
      // A file that is answered leaves the page as it is.
      if (event.submitter?.matches("[data-file]")) setTimeout(free, 1500);
    }
  };
  document.addEventListener("submit", once, true);

  // Coming back shows the page as it was left.
  addEventListener("pageshow", free);
})();
