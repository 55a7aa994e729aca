// Draws each form when it comes near the window, and forgets it when it is far: a batch of any size stays quick.
// Text goes in as text and marks as numbers; nothing read from a register is ever taken for markup or script.
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg", POINT = 38100;
  const byId = (id) => document.getElementById(id);
  const say = (text, count, items) => text.replace("COUNT", count).replace("ITEMS", items);
  const read = (element) => JSON.parse(element.textContent);
  const pt = (units) => (units / POINT).toFixed(3);
  const dots = new Map(read(byId("dots"))), row = Number(byId("dots").dataset.row);

  const make = (name, attributes) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const parsed = (markup) => {
    const whole = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${markup}</svg>`, "image/svg+xml");
    return Array.from(whole.documentElement.childNodes, (node) => document.importNode(node, true));
  };
  const keyOf = (char, pitch, weight) => `${pitch} ${weight} ${char}`;
  const letters = function* (run) {
    const [x, y, pitch, weight, text] = run;
    let place = 0;
    for (const char of text) {
      if (char !== " ") yield [keyOf(char, pitch, weight), x + place * pitch, y];
      place += 1;
    }
  };

  // On paper every character is its dots, as lines that have no length: sharp at any size.
  const defs = byId("struck-dots"), known = new Map();
  const dotsOf = (key) => {
    if (!known.has(key)) {
      const [width, d] = dots.get(key), id = `dots-${known.size}`;
      defs.append(make("path", { id, "stroke-width": width, d }));
      known.set(key, `#${id}`);
    }
    return known.get(key);
  };
  const sharp = (run) => {
    const group = make("g", { stroke: run[5] });
    for (const [key, x, y] of letters(run)) group.append(make("use", { href: dotsOf(key), x: pt(x), y: pt(y) }));
    return group;
  };

  // On the screen a character is drawn once at its size, and stamped wherever it stands: thousands cost little.
  const stamps = new Map();
  const stamp = (key, colour, scale) => {
    const name = `${key} ${colour} ${scale.toFixed(4)}`;
    if (!stamps.has(name)) {
      if (stamps.size > 4000) stamps.clear();
      const [width, d] = dots.get(key), edge = 4;
      const made = document.createElement("canvas");
      made.width = Math.ceil((Number(key.split(" ")[0]) / POINT + 2 * edge) * scale);
      made.height = Math.ceil((10 * row / POINT + 2 * edge) * scale);
      const pen = made.getContext("2d");
      pen.scale(scale, scale);
      pen.translate(edge, edge);
      pen.lineCap = "round";
      pen.lineWidth = Number(width);
      pen.strokeStyle = colour;
      pen.stroke(new Path2D(d.replaceAll("h0", "h0.001")));
      stamps.set(name, [made, edge]);
    }
    return stamps.get(name);
  };
  const quick = (canvas, part, scale) => {
    const [left, top] = part.view, pen = canvas.getContext("2d");
    for (const run of part.struck) {
      for (const [key, x, y] of letters(run)) {
        const [image, edge] = stamp(key, run[5], scale);
        const across = ((x - left) / POINT - edge) * scale, down = ((y - top) / POINT - edge) * scale;
        pen.drawImage(image, Math.round(across), Math.round(down)); // on whole dots of the screen: sharper
      }
    }
  };

  const words = ([x, y, pitch, , text]) => {
    const made = make("text", {
      x: pt(x), y: pt(y + 7 * row), "font-family": "monospace", "font-size": "9", fill: "#000", "fill-opacity": "0",
      stroke: "none", textLength: pt(pitch * Array.from(text).length), lengthAdjust: "spacingAndGlyphs",
    });
    made.textContent = text;
    return made;
  };
  const picture = (place, part, forPaper) => {
    const [left, top, width, height] = part.view;
    const svg = make("svg", {
      viewBox: `${pt(left)} ${pt(top)} ${pt(width)} ${pt(height)}`, role: "img", fill: "none",
      "stroke-linecap": "round", "stroke-linejoin": "round", "aria-label": place.dataset.label,
    });
    svg.append(make("use", { href: `#sheet-${part.sheet}` }));
    svg.append(make("use", { href: `#frames-${part.sheet}`, class: "frames" }));
    if (forPaper) svg.append(...part.struck.map(sharp));
    svg.append(...part.struck.map(words), ...parsed(part.rest));
    place.style.aspectRatio = `${width} / ${height}`;
    place.replaceChildren(svg);
    if (forPaper) return;
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(place.clientWidth * Math.min(devicePixelRatio || 1, 3));
    canvas.height = Math.round(canvas.width * height / width);
    canvas.setAttribute("aria-hidden", "true");
    if (canvas.width) quick(canvas, part, canvas.width / (width / POINT));
    place.append(canvas);
  };

  // One part at a time, when the browser has nothing better to do; those nearest the window first.
  const sections = Array.from(document.querySelectorAll("section.payment"));
  const near = new Set(), drawn = new Map();
  let busy = false, paper = false;
  const idle = window.requestIdleCallback ? (work) => requestIdleCallback(work, { timeout: 300 })
    : (work) => setTimeout(work, 16);
  const begin = (section) => {
    const places = Array.from(section.querySelectorAll(".picture"));
    const parts = read(section.querySelector("script"));
    drawn.set(section, places.map((place, index) => [place, parts[index]]));
  };
  const pump = () => {
    busy = false;
    const middle = innerHeight / 2;
    const away = (one) => {
      const box = one.getBoundingClientRect();
      return Math.max(box.top - middle, middle - box.bottom, 0);
    };
    const waiting = Array.from(near).filter((one) => !drawn.has(one) || drawn.get(one).length);
    if (!waiting.length || paper) return;
    const section = waiting.reduce((best, one) => (away(one) < away(best) ? one : best));
    if (!drawn.has(section)) begin(section);
    const [place, part] = drawn.get(section).shift();
    picture(place, part, false);
    wake();
  };
  const wake = () => {
    if (!busy) {
      busy = true;
      idle(pump);
    }
  };
  const forget = (section) => {
    if (!drawn.delete(section)) return;
    for (const place of section.querySelectorAll(".picture")) place.replaceChildren();
  };
  const watcher = new IntersectionObserver((seen) => {
    for (const one of seen) {
      if (one.isIntersecting) near.add(one.target);
      else if (near.delete(one.target) && !paper) forget(one.target);
    }
    wake();
  }, { rootMargin: "60% 0px" });
  sections.forEach((section) => watcher.observe(section));
  addEventListener("beforeprint", () => {
    paper = true;
    for (const section of sections.filter((one) => !one.hidden)) {
      begin(section);
      for (const [place, part] of drawn.get(section).splice(0)) picture(place, part, true);
    }
  });
  addEventListener("afterprint", () => {
    paper = false;
    sections.forEach(forget);
    wake();
  });
  let resized = 0;
  addEventListener("resize", () => {
    clearTimeout(resized);
    resized = setTimeout(() => { if (!paper) { sections.forEach(forget); wake(); } }, 200);
  });

  const rows = Array.from(document.querySelectorAll("tr[data-find]"));
  const search = byId("search"), found = byId("found"), looked = byId("looked");
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  const texts = sections.map((section) => fold(section.dataset.find));
  const seek = () => {
    const wanted = fold(search.value).split(/\s+/).filter(Boolean);
    let count = 0;
    sections.forEach((section, place) => {
      const fits = wanted.every((word) => texts[place].includes(word));
      if (section.hidden === fits) section.hidden = rows[place].hidden = !fits;
      count += fits ? 1 : 0;
    });
    const all = wanted.length || String(sections.length) !== found.dataset.items;
    found.textContent = say(all ? found.dataset.some : found.dataset.all, all ? count : sections.length, found.dataset.items);
  };
  search.addEventListener("input", seek);
  seek();

  const ticks = Array.from(document.querySelectorAll("tr[data-find] input"));
  const tell = () => {
    looked.textContent = say(looked.dataset.said, ticks.filter((tick) => tick.checked).length, ticks.length);
  };
  ticks.forEach((tick) => tick.addEventListener("change", tell));
  tell();
  byId("frames").addEventListener("change", (event) => document.body.classList.toggle("framed", event.target.checked));
  byId("tools").hidden = false;
})();
