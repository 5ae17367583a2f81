// Draws the plots of the report from the data block; shares cursor and zoom inside a group. No request is ever made.
(() => {
  "use strict";
  const data = JSON.parse(document.getElementById("data").textContent);
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const groups = data.groups.map(() => []);
  const HEIGHT = 260;
  // Five digits are stored; four are shown.
  const shown = (value) => (value == null ? "-" : String(Number(value.toPrecision(4))));

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
    const group = Number(box.dataset.group);
    const time = data.groups[group].time;
    const plot = data.groups[group].plots[Number(box.dataset.plot)];
    const columns = plot.curves.map((curve) => {
      const values = curve.values.slice();
      while (values.length < time.length) values.push(null);
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
      series: [{ label: "time [s]", value: (_, value) => shown(value) }].concat(
        plot.curves.map((curve) => ({
          label: curve.label,
          stroke: () => colour(`--run-${curve.run}`),
          width: 2,
          dash: curve.dash,
          points: { show: false },
          value: (_, value) => shown(value),
        })),
      ),
      axes: [axis("time [s]"), axis(`[${plot.unit}]`)],
      hooks: {
        setScale: [(u, key) => { if (key === "x" && u.status === 1) zoomAll(group, u.scales.x.min, u.scales.x.max); }],
        setCursor: [(u) => markPath(group, u.cursor.idx)],
      },
    };
    const made = new uPlot(options, [time].concat(columns), box);
    groups[group].push(made);
    for (const entry of box.querySelectorAll(".u-legend .u-series th")) {
      entry.tabIndex = 0;
      entry.addEventListener("keydown", (event) => {
        if (event.key === "Enter") { entry.click(); event.stopPropagation(); }
      });
    }
    box.addEventListener("keydown", (event) => keys(event, made, group, time));
  }

  function keys(event, plot, group, time) {
    const { min, max } = plot.scales.x;
    const first = time[0], last = time[time.length - 1];
    const at = plot.cursor.idx == null ? (min + max) / 2 : time[plot.cursor.idx];
    const zoom = (factor) => {
      const breadth = Math.min((max - min) * factor, last - first);
      const low = Math.max(first, Math.min(at - breadth / 2, last - breadth));
      zoomAll(group, low, low + breadth);
    };
    const move = (share) => {
      const to = Math.min(max, Math.max(min, at + share * (max - min)));
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

  const boxes = [...document.querySelectorAll(".plot")];
  boxes.forEach(draw);
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
