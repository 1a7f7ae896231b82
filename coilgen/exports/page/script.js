
"use strict";
// Layers on and off, and the reading of what is under the pointer. Runs again whenever the content is new.
const coilPage = (() => {
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const one = (selector) => document.querySelector(selector);

  // A path's pieces from its d: lines and circular arcs of less than half a turn, lengths in mm, y down.
  const pieces = (d) => {
    const found = [];
    let at = null;
    for (const [, letter, rest] of d.matchAll(/([MLAZ])([^MLAZ]*)/g)) {
      const numbers = rest.trim().split(/\s+/).map(Number);
      const end = numbers.slice(-2);
      if (letter === "L") found.push(line(at, end));
      if (letter === "A") found.push(arc(at, end, numbers[0], numbers[4] === 1));
      if (letter !== "Z") at = end;
    }
    return found;
  };
  const line = (start, end) => {
    const way = [end[0] - start[0], end[1] - start[1]];
    const length = Math.hypot(...way);
    return {
      length,
      at: (share) => [start[0] + way[0] * share, start[1] + way[1] * share],
      nearest: ([x, y]) => ((x - start[0]) * way[0] + (y - start[1]) * way[1]) / (length * length || 1),
    };
  };
  const arc = (start, end, radius, clockwise) => {
    const half = [(end[0] - start[0]) / 2, (end[1] - start[1]) / 2];
    const chord = Math.hypot(...half);
    const rise = Math.sqrt(Math.max(0, radius * radius - chord * chord)) / (chord || 1) * (clockwise ? 1 : -1);
    const centre = [start[0] + half[0] - half[1] * rise, start[1] + half[1] + half[0] * rise];
    const first = Math.atan2(start[1] - centre[1], start[0] - centre[0]);
    const sweep = 2 * Math.asin(Math.min(1, chord / radius)) * (clockwise ? 1 : -1);
    return {
      length: Math.abs(sweep) * radius,
      at: (share) => [centre[0] + radius * Math.cos(first + sweep * share), centre[1] + radius * Math.sin(first + sweep * share)],
      nearest: ([x, y]) => {
        const middle = first + sweep / 2;
        let turn = Math.atan2(y - centre[1], x - centre[0]) - middle;
        turn -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
        return 0.5 + turn / sweep;
      },
    };
  };

  const traces = () => all("#view .copper").flatMap((group) => all(".traces path", group).map((path) => {
    let along = Number(path.dataset.start);
    const parts = pieces(path.getAttribute("d")).map((piece) => {
      const part = { ...piece, start: along };
      along += piece.length;
      return part;
    });
    const net = path.dataset.net || one("#view").dataset.net, terminal = path.dataset.terminal || "1";
    const width = Number(path.getAttribute("stroke-width"));
    return { group, path, net, terminal, layer: Number(group.dataset.layer), width, parts, end: along };
  })).sort((a, b) => a.layer - b.layer);

  const seen = (trace) => ![trace.group, trace.path].some((part) => part.classList.contains("hidden"));
  const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

  const nearestOn = (trace, point) => {
    let best = { away: Infinity };
    for (const part of trace.parts) {
      const share = Math.min(1, Math.max(0, part.nearest(point)));
      const at = part.at(share);
      const away = distance(at, point);
      if (away < best.away) best = { away, at, along: part.start + share * part.length, trace };
    }
    return best;
  };

  const start = () => {
    const picture = one("#board-picture"), reading = one("#reading"), ring = one("#locator"), follow = one("#follow");
    const known = traces();
    const totals = new Map();
    for (const trace of known) totals.set(trace.net, Math.max(trace.end, totals.get(trace.net) || 0));
    const mark = (at) => {
      ring.setAttribute("visibility", at ? "visible" : "hidden");
      if (at) { ring.setAttribute("cx", at[0]); ring.setAttribute("cy", at[1]); }
    };
    const tell = (place) => {
      mark(place.at);
      const { net, layer, terminal } = place.trace;
      reading.textContent = `net ${net}, copper ${layer}, ${place.along.toFixed(1)} mm of ${totals.get(net).toFixed(1)} mm `
        + `from terminal ${terminal}; x ${place.at[0].toFixed(2)}, y ${(-place.at[1]).toFixed(2)} mm`;
    };
    const toMillimetres = (event) => {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
      return [point.x, point.y];
    };
    const point = (event) => {
      const at = toMillimetres(event), reach = 4 / picture.getScreenCTM().a;
      const pad = all("#view .copper:not(.hidden) .pads circle:not(.hidden)").reverse()
        .find((disc) => distance(at, [Number(disc.getAttribute("cx")), Number(disc.getAttribute("cy"))]) < Number(disc.getAttribute("r")));
      if (pad) {
        mark([pad.getAttribute("cx"), pad.getAttribute("cy")]);
        reading.textContent = `net ${pad.dataset.net || one("#view").dataset.net}, ${pad.dataset.part}`;
        return;
      }
      for (const trace of known.filter(seen)) {
        const place = nearestOn(trace, at);
        if (place.away < Math.max(trace.width / 2, reach)) { tell(place); return; }
      }
      mark(null);
    };
    picture.addEventListener("pointermove", point);
    picture.addEventListener("pointerleave", () => mark(null));
    follow.addEventListener("input", () => {
      // One winding after another, each as long as its current travels.
      let along = Number(follow.value) / Number(follow.max) * [...totals.values()].reduce((sum, each) => sum + each, 0);
      const nets = [...totals.keys()];
      let which = 0;
      while (which < nets.length - 1 && along > totals.get(nets[which])) along -= totals.get(nets[which++]);
      const own = known.filter((each) => each.net === nets[which]);
      const trace = own.find((each) => along <= each.end && along >= each.parts[0].start) || own[own.length - 1];
      const part = trace.parts.find((each) => along <= each.start + each.length) || trace.parts[trace.parts.length - 1];
      const at = part.at(Math.min(1, (along - part.start) / (part.length || 1)));
      tell({ at, along, trace });
      follow.setAttribute("aria-valuetext", `${along.toFixed(1)} mm, copper ${trace.layer}`);
    });
    switches();
  };

  const switches = () => {
    const boxes = all("[data-shows]"), copper = boxes.filter((box) => box.dataset.shows.startsWith("copper-"));
    const show = () => {
      for (const box of boxes) {
        const name = box.dataset.shows;
        const parts = name === "openings" ? "#openings-top, #openings-bottom"
          : name.startsWith("net ") ? `[data-net="${name.slice(4)}"]:not(#view)` : `[id="${name}"]`;
        all(parts, one("#board-picture"))
          .forEach((part) => part.classList.toggle("hidden", !box.checked));
      }
      const top = copper.find((box) => box.checked);
      const use = one("#current use");
      if (use) use.setAttribute("href", top ? top.dataset.shows.replace("copper", "#current") : "");
    };
    boxes.forEach((box) => box.addEventListener("change", show));
    const only = (chosen) => { copper.forEach((box, k) => { box.checked = chosen === null || k === chosen; }); show(); };
    let alone = -1;
    one("#all-layers")?.addEventListener("click", () => { alone = -1; only(null); });
    one("#next-layer")?.addEventListener("click", () => { alone = (alone + 1) % copper.length; only(alone); });
    show();
  };

  if (one("#board-picture")) start();
  return { start };
})();
