// Draws the plots of the report from the data block; shares cursor and zoom inside a group, and with the map of its road.
// No request is ever made.
(() => {
  "use strict";
  const data = JSON.parse(document.getElementById("data").textContent);
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const groups = data.groups.map(() => []);
  const maps = data.groups.map(() => []);
  const HEIGHT = 240;
  // Five digits are stored; four are shown.
  const shown = (value) => (value == null ? "-" : String(Number(value.toPrecision(4))));

  // The place of the cursor on the path seen from above.
  function markPath(group, index) {
    const plan = document.querySelector(`#group-${group} svg.plan`);
    if (!plan) return;
    for (const line of plan.querySelectorAll("polyline")) {
      const here = line.nextElementSibling;
      const inside = index != null && index < line.points.numberOfItems;
      here.setAttribute("visibility", inside ? "visible" : "hidden");
      if (inside) {
        const point = line.points.getItem(index);
        here.setAttribute("cx", point.x);
        here.setAttribute("cy", point.y);
      }
    }
  }

  // The same on every map of the group, and what happened there in words.
  function markMaps(group, distance) {
    for (const map of maps[group]) {
      const piece = Math.min(map.points.length - 1, Math.max(0, Math.floor(distance / map.step)));
      map.distance = distance;
      const [x, y] = map.points[piece];
      map.dot.setAttribute("cx", x);
      map.dot.setAttribute("cy", y);
      const [left, right, top, bottom] = map.profile;
      const across = left + (distance / map.length) * (right - left);
      map.line.setAttribute("d", `M${across.toFixed(1)} ${top + 10}V${bottom - 40}`);
      for (const mark of [map.dot, map.line]) mark.setAttribute("visibility", "visible");
      map.said.textContent = map.texts[piece];
      map.svg.setAttribute("aria-valuenow", Math.round(distance));
      map.svg.setAttribute("aria-valuetext", map.texts[piece]);
    }
  }

  function markPlots(group, distance) {
    const plot = groups[group][0];
    if (plot) plot.setCursor({ left: plot.valToPos(distance, "x"), top: 10 }, true, true);
    markMaps(group, distance);
  }

  function follow(group, plot) {
    const index = plot.cursor.idx;
    if (maps[group].length) {
      if (index != null) markMaps(group, plot.data[0][index]);
    } else {
      markPath(group, index);
    }
  }

  function wireMap(figure) {
    const group = Number(figure.dataset.group);
    const svg = figure.querySelector("svg");
    const map = JSON.parse(figure.querySelector("script").textContent);
    map.svg = svg;
    map.dot = svg.querySelector(".here");
    map.line = svg.querySelector(".here-line");
    map.said = figure.querySelector(".told");
    map.distance = 0;
    maps[group].push(map);
    const pointed = (event) => {
      const box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      const x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
      const [left, right, top] = map.profile;
      if (y > top) {
        const share = Math.min(1, Math.max(0, (x - left) / (right - left)));
        markPlots(group, share * map.length);
        return;
      }
      let nearest = -1, least = 40 * 40;
      map.points.forEach(([px, py], piece) => {
        const squared = (px - x) * (px - x) + (py - y) * (py - y);
        if (squared < least) { least = squared; nearest = piece; }
      });
      if (nearest >= 0) markPlots(group, nearest * map.step);
    };
    svg.addEventListener("pointermove", pointed);
    svg.addEventListener("pointerdown", pointed);
    svg.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 100 : map.step;
      const last = (map.points.length - 1) * map.step;
      const to = {
        ArrowRight: map.distance + step, ArrowUp: map.distance + step,
        ArrowLeft: map.distance - step, ArrowDown: map.distance - step,
        PageUp: map.distance + 100, PageDown: map.distance - 100, Home: 0, End: last,
      }[event.key];
      if (to == null || event.ctrlKey || event.metaKey || event.altKey) return;
      markPlots(group, Math.min(last, Math.max(0, to)));
      event.preventDefault();
    });
  }

  let zooming = false;
  function zoomAll(group, low, high) {
    if (zooming) return;
    zooming = true;
    for (const plot of groups[group]) {
      const x = plot.scales.x;
      if (x.min !== low || x.max !== high) plot.setScale("x", { min: low, max: high });
    }
    zooming = false;
  }

  function draw(box) {
    if (box.dataset.drawn) return;
    box.dataset.drawn = "yes";
    const group = Number(box.dataset.group);
    const { at, axis: across } = data.groups[group];
    const plot = data.groups[group].plots[Number(box.dataset.plot)];
    const columns = plot.curves.map((curve) => {
      const values = curve.values.slice();
      while (values.length < at.length) values.push(null);
      return values;
    });
    const axis = (label) => ({
      label, labelSize: 22, size: label.startsWith("[") ? 58 : 40, font: "12px Georgia, serif", labelFont: "12px Georgia, serif",
      stroke: () => colour("--faint"),
      values: (_, ticks) => ticks.map((tick) => (tick == null ? "" : shown(tick))),
      grid: { stroke: () => colour("--grid"), width: 1 },
      ticks: { stroke: () => colour("--rule"), width: 1 },
    });
    const options = {
      width: Math.max(280, box.clientWidth),
      height: HEIGHT,
      cursor: { sync: { key: `group-${group}`, setSeries: false }, drag: { x: true, y: false } },
      scales: { x: { time: false } },
      legend: { live: true },
      series: [{ label: across, value: (_, value) => shown(value) }].concat(
        plot.curves.map((curve) => ({
          label: curve.label,
          stroke: () => colour(`--run-${curve.run}`),
          width: 2,
          dash: curve.dash,
          points: { show: false },
          value: (_, value) => shown(value),
        })),
      ),
      axes: [axis(across), axis(`[${plot.unit}]`)],
      hooks: {
        setScale: [(u, key) => { if (key === "x" && u.status === 1) zoomAll(group, u.scales.x.min, u.scales.x.max); }],
        setCursor: [(u) => follow(group, u)],
      },
    };
    const made = new uPlot(options, [at].concat(columns), box);
    groups[group].push(made);
    for (const entry of box.querySelectorAll(".u-legend .u-series th")) {
      entry.tabIndex = 0;
      entry.addEventListener("keydown", (event) => {
        if (event.key === "Enter") { entry.click(); event.stopPropagation(); }
      });
    }
    box.addEventListener("keydown", (event) => keys(event, made, group, at));
  }

  function keys(event, plot, group, at) {
    const { min, max } = plot.scales.x;
    const first = at[0], last = at[at.length - 1];
    const here = plot.cursor.idx == null ? (min + max) / 2 : at[plot.cursor.idx];
    const zoom = (factor) => {
      const breadth = Math.min((max - min) * factor, last - first);
      const low = Math.max(first, Math.min(here - breadth / 2, last - breadth));
      zoomAll(group, low, low + breadth);
    };
    const move = (share) => {
      const to = Math.min(max, Math.max(min, here + share * (max - min)));
      plot.setCursor({ left: plot.valToPos(to, "x"), top: 10 }, true, true);
    };
    const actions = {
      ArrowLeft: () => move(event.shiftKey ? -0.1 : -0.01),
      ArrowRight: () => move(event.shiftKey ? 0.1 : 0.01),
      "+": () => zoom(0.5),
      "-": () => zoom(2),
      0: () => zoomAll(group, first, last),
    };
    const action = actions[event.key];
    if (action && !event.ctrlKey && !event.metaKey && !event.altKey) { action(); event.preventDefault(); }
  }

  document.querySelectorAll("figure.map").forEach(wireMap);
  // Plots of a folded group have no size: they are drawn when it is unfolded.
  for (const folded of document.querySelectorAll("details.group")) {
    const drawAll = () => { if (folded.open) folded.querySelectorAll(".plot").forEach(draw); };
    folded.addEventListener("toggle", drawAll);
    drawAll();
  }
  for (const button of document.querySelectorAll("button.unfold")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const own = button.closest("section").querySelectorAll("details.group");
      const open = [...own].some((folded) => !folded.open);
      own.forEach((folded) => { folded.open = open; });
    });
  }
  const all = () => groups.flat();
  const repaint = () => all().forEach((plot) => plot.redraw(false, true));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", repaint);
  matchMedia("print").addEventListener("change", repaint);
  let waiting = 0;
  addEventListener("resize", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      all().forEach((plot) => plot.setSize({ width: Math.max(280, plot.root.parentElement.clientWidth), height: HEIGHT }));
    }, 150);
  });
})();
