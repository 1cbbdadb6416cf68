// A large word, a colour and a short sound for each reading; points that others or an instrument
// sent appear by themselves, and so does what is known so far.
(() => {
  "use strict";

  const EVERY_MS = 1500;
  const SHOWN_MS = 6000;
  const one = (selector) => document.querySelector(selector);
  let audio = null;
  let shown = null;

  // Browsers let a page sound only after somebody has touched it.
  for (const name of ["pointerdown", "keydown"])
    document.addEventListener(name, () => {
      audio = audio || (window.AudioContext && new AudioContext());
      if (audio) audio.resume();
    });
  const tone = (hertz, start) => {
    const source = audio.createOscillator();
    const gain = audio.createGain();
    const from = audio.currentTime + start;
    source.frequency.value = hertz;
    gain.gain.setValueAtTime(0.25, from);
    gain.gain.exponentialRampToValueAtTime(0.001, from + 0.2);
    source.connect(gain).connect(audio.destination);
    source.start(from);
    source.stop(from + 0.2);
  };
  const sound = (plausible) => {
    if (audio) for (const start of plausible ? [0] : [0, 0.25, 0.5]) tone(plausible ? 1320 : 220, start);
  };

  const word = (kind, lines) => {
    const big = one("[data-big]");
    if (!big) return;
    shown = { kind, lines, until: Date.now() + SHOWN_MS };
    big.className = `big ${kind}-word`;
    big.textContent = big.dataset[kind];
    for (const line of lines) big.append(Object.assign(document.createElement("small"), { textContent: line }));
    big.hidden = false;
  };

  const news = async () => {
    const place = one("[data-news]");
    const strip = one("[data-strip]");
    const big = one("[data-big]");
    const sending = () => one("form[data-sent]");
    if (!place || !strip || !big || document.hidden || sending()) return;
    const answer = await fetch(`${place.dataset.news}?after=${strip.dataset.version}&since=${big.dataset.last}`);
    if (answer.status !== 200 || answer.redirected || place !== one("[data-news]") || sending()) return;
    const told = await answer.json();
    strip.dataset.version = told.version;
    const last = told.points.pop();
    if (last) {
      big.dataset.last = last.id;
      word(last.plausible ? "taken" : "implausible", [last.name, last.reading, ...(last.plausible ? [] : told.told)]);
      sound(last.plausible);
    }
    const fields = [...document.querySelectorAll("[data-keep] [name^='readings.'][type=text]")];
    const typing = fields.some((field) => field.value);
    const detail = { path: told.at || place.dataset.here };
    if (!typing) document.dispatchEvent(new CustomEvent("jigbook:go", { detail }));
  };
  const watch = async () => {
    // Without network there is no news; the strip says what waits.
    await news().catch(() => {});
    setTimeout(watch, EVERY_MS);
  };

  const plan = async () => {
    const place = one("[data-plan]");
    const line = one("[data-plan] [data-plan-line]");
    if (!place || line.textContent.trim()) return;
    const answer = await fetch(place.dataset.plan);
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    line.textContent = page.querySelector("[data-plan-line]").textContent.trim();
  };
  // Where it does not come, the link beside it leads there as well.
  const tryPlan = () => plan().catch(() => {});

  document.addEventListener("jigbook:taken", (event) => sound(event.detail.plausible));
  document.addEventListener("jigbook:waiting", () => word("waiting", []));
  document.addEventListener("jigbook:stored", (event) => {
    if (!event.detail.plausible) word("implausible", event.detail.told);
  });
  document.addEventListener("jigbook:page", () => {
    const big = one("[data-big]");
    if (big && big.hidden && shown && Date.now() < shown.until) word(shown.kind, shown.lines);
    tryPlan();
  });
  tryPlan();
  setTimeout(watch, EVERY_MS);
})();
