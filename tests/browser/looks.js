// What is measured on a page that the browser shows. One function each, called by looks.py.
const looks = (() => {
  "use strict";

  const rgb = (text) => {
    const [r, g, b, a = 1] = text.match(/[\d.]+/g).map(Number);
    return [r, g, b, a];
  };
  const light = ([r, g, b]) =>
    [r, g, b]
      .map((one) => one / 255)
      .map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4))
      .reduce((sum, one, at) => sum + one * [0.2126, 0.7152, 0.0722][at], 0);
  const over = (top, under) =>
    top.slice(0, 3).map((one, at) => one * top[3] + under[at] * (1 - top[3]));
  const contrast = (one, other) => {
    const [low, high] = [light(one), light(other)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
  };
  const behind = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const found = rgb(getComputedStyle(at).backgroundColor);
      if (found[3] === 1) return found;
      if (found[3] > 0) return over(found, behind(at.parentElement));
    }
    return [255, 255, 255, 1];
  };

  // What stands on a drawing stands on the last filled shape before it that lies under its middle.
  // The shapes of a drawing are measured once a look: there may be a thousand.
  let grounds = new Map();
  const filledIn = (svg) => {
    if (!grounds.has(svg))
      grounds.set(svg, [...svg.querySelectorAll("rect, circle, ellipse, path, polygon")]
        .map((one) => ({ one, fill: getComputedStyle(one).fill, box: one.getBoundingClientRect() }))
        .filter(({ fill }) => fill.startsWith("rgb") && rgb(fill)[3] === 1));
    return grounds.get(svg);
  };
  const under = (one) => {
    const svg = one.closest("svg");
    if (!svg) return behind(one);
    const at = one.getBoundingClientRect();
    const [x, y] = [at.x + at.width / 2, at.y + at.height / 2];
    const lies = ({ box }) => box.left <= x && x <= box.right && box.top <= y && y <= box.bottom;
    const before = (other) =>
      other !== one && other.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING;
    const ground = filledIn(svg).findLast((other) => lies(other) && before(other.one));
    return ground ? rgb(ground.fill) : behind(svg);
  };
  const anew = (look) => (...given) => {
    grounds = new Map();
    return look(...given);
  };

  const all = (of) => [...document.querySelectorAll(of)];
  const shown = (one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  const says = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
  const painted = (one) => rgb(getComputedStyle(one)[one.closest("svg") ? "fill" : "color"]);
  const against = (one) => {
    const ground = under(one);
    return contrast(over(painted(one), ground), ground);
  };
  const told = (one, of) => [one.outerHTML.slice(0, 110), Math.round(of * 10) / 10];

  const READINGS = `.reading, .reading .unit, .verdict, .big, .big *, .answer, .xyz input, td, dd,
    .keypad button, .strip b, .sentence, .plan, .taken, svg text`;
  const faint = (least) =>
    all(READINGS)
      .filter((one) => shown(one) && (says(one) || one.matches("input")))
      .filter((one) => against(one) < least - 0.05)
      .map((one) => told(one, against(one)));

  const TARGETS = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const inText = (one) => one.matches("a") && getComputedStyle(one).display === "inline";
  // A tick may have several labels; the largest is what a thumb finds.
  const touched = (one) =>
    (one.matches("[type=checkbox], [type=radio]") ? [...one.labels, one] : [one])
      .map((part) => part.getBoundingClientRect())
      .reduce((most, box) => (box.height > most.height ? box : most));
  const small = ([least, main]) =>
    all(TARGETS)
      .filter((one) => shown(one) && !inText(one) && !one.closest("[aria-hidden=true]"))
      .map((one) => [one, touched(one)])
      .filter(([, box]) => box.height > 1 && box.bottom > 0 && box.right > 0)
      .filter(([one, box]) => box.height < (one.matches("main .go") ? main : least) - 0.5)
      .map(([one, box]) => told(one, box.height));

  const EDGED = "button, .go, .also, main input:not([type=hidden]), select, textarea";
  const EDGELESS = ".quiet, [type=checkbox], [type=radio], [type=range], [type=file]";
  const SHAPES = ["path", "line", "circle", "rect", "polygon", "polyline", "ellipse"];
  const PAINTED = SHAPES.map((name) => `svg ${name}`).join();
  const edge = (one) => {
    const style = getComputedStyle(one);
    return parseFloat(style.borderTopWidth) > 0 && style.borderTopStyle !== "none"
      ? contrast(rgb(style.borderTopColor), behind(one.parentElement))
      : 0;
  };
  const shape = (one) => {
    const style = getComputedStyle(one);
    const paints = [style.stroke, style.fill].filter((paint) => paint.startsWith("rgb"));
    const most = (ground) => Math.max(0, ...paints.map((paint) => contrast(rgb(paint), ground)));
    const onPaper = most(behind(one));
    return onPaper >= 3 ? onPaper : most(under(one));
  };
  const drawn = (one) => {
    const style = getComputedStyle(one);
    const faded = [style.strokeOpacity, style.fillOpacity, style.opacity].some((of) => of < 1);
    return shown(one) && !one.closest("defs") && !faded && (style.stroke !== "none" || style.fill !== "none");
  };
  const lost = () => [
    ...all(EDGED).filter((one) => shown(one) && !one.matches(EDGELESS) && edge(one) < 3)
      .map((one) => told(one, edge(one))),
    ...all("body *").filter((one) => shown(one) && says(one) && !one.matches("script, option, title"))
      .filter((one) => against(one) < 4.45).map((one) => told(one, against(one))),
    ...all(PAINTED).filter((one) => drawn(one) && shape(one) < 3).map((one) => told(one, shape(one))),
  ];

  // Rules that may say something else when only colours and widths have changed.
  const DRESS = ["color-contrast", "target-size", "link-in-text-block", "css-orientation-lock",
    "scrollable-region-focusable", "empty-heading", "label", "link-name", "button-name"];
  const axed = async (again) => {
    const options = { resultTypes: ["violations"], elementRef: false };
    if (again) options.runOnly = { type: "rule", values: DRESS };
    const found = await axe.run(document, options);
    const nodes = (one) => one.nodes.map((node) => node.html.slice(0, 150) + node.failureSummary);
    return found.violations.map((one) => [one.id, nodes(one).slice(0, 3)]);
  };
  const sideways = () =>
    document.documentElement.scrollWidth - document.documentElement.clientWidth;

  const TYPED = "input:not([type=hidden], [type=checkbox], [type=radio], [type=file]), textarea";
  const typed = (form) => [...form.querySelectorAll(TYPED)].filter((one) => !one.readOnly);
  const longest = () =>
    all("main form").filter((form) => form.method === "post" && typed(form).length)
      .sort((one, other) => typed(other).length - typed(one).length)[0];
  const fields = () => (longest() ? typed(longest()).map((one) => one.name) : []);
  const sendBadly = () => {
    const form = longest();
    for (const one of typed(form)) one.value = /decimal|numeric/.test(one.inputMode) ? "?" : "";
    for (const one of form.querySelectorAll("[type=checkbox], [type=radio]")) one.checked = false;
    const button = form.querySelector("button");
    if (button.name) form.append(Object.assign(document.createElement("input"), { type: "hidden", name: button.name, value: button.value }));
    setTimeout(() => HTMLFormElement.prototype.submit.call(form));
  };
  const deadEnds = () =>
    all("#summary a").filter((one) => !document.getElementById(one.hash.slice(1)))
      .map((one) => one.hash);
  return { fields, deadEnds, sendBadly, faint: anew(faint), small, lost: anew(lost), axed, sideways };
})();
