// Keys on the screen for gloved hands: they write into the field that was touched last.
(() => {
  "use strict";

  const fields = () =>
    [...document.querySelectorAll("form:has([data-keypad]) input[inputmode]")].filter((one) => !one.closest("details:not([open])"));
  const chosen = () => document.querySelector("input[data-now]");
  const now = () => chosen() || fields()[0];

  const choose = (field) => {
    delete chosen()?.dataset.now;
    if (field) field.dataset.now = "";
  };

  // A tablet's own keyboard would cover the keys.
  const ready = () => {
    const touch = matchMedia("(pointer: coarse)").matches;
    for (const pad of document.querySelectorAll("[data-keypad]")) pad.hidden = false;
    for (const field of fields()) if (touch) field.inputMode = "none";
    choose(fields().find((one) => one.ariaInvalid) || fields().find((one) => !one.value) || fields()[0]);
  };

  const write = (field, key) => {
    const { value } = field;
    if (key === "erase") field.value = value.slice(0, -1);
    else if (key === "sign") field.value = value.startsWith("-") ? value.slice(1) : `-${value}`;
    else if (!(",.".includes(key) && /[.,]/.test(value))) field.value = value + key;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };

  const next = (field) => {
    const all = fields();
    const following = all[all.indexOf(field) + 1];
    choose(following || field);
    (following || field.form.querySelector(".actions button")).focus();
  };

  document.addEventListener("pointerdown", (event) => {
    if (event.target.closest("[data-key]")) event.preventDefault();
  });
  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-key]");
    const field = now();
    if (!key || !field) return;
    if (key.dataset.key === "next") next(field);
    else write(field, key.dataset.key);
  });
  document.addEventListener("focusin", (event) => {
    if (fields().includes(event.target)) choose(event.target);
  });
  document.addEventListener("jigbook:page", ready);
  ready();
})();
