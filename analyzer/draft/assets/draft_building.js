// The building: its name, zone, units, dates and hours, as lines of site.toml.
"use strict";

(function () {
  const { text: drafted, zones, zone_known: zoneKnown } = Draft.data.building;
  const known = new Set(zones);
  const form = document.getElementById("building-form");
  const field = (name) => document.getElementById(`site-${name}`);
  const DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
  const SPANS = [["mon-fri", "Monday to Friday"], ["sat", "Saturday"], ["sun", "Sunday"]];
  document.getElementById("zones").replaceChildren(...zones.map((zone) => new Option("", zone)));
  const start = { name: field("name").value, units: field("units").value, zone: field("zone").value };

  // ---- hours: three rows; what a given file says otherwise stays as it is ----

  const given = /^occupied = (.*)$/m.exec(drafted);
  const hours = given ? readHours(given[1]) : {};
  const box = document.querySelector("#site-hours .days");
  if (hours === null) {
    box.textContent = `As the site file says: ${given[1]}. Change them in site.toml.`;
  } else {
    for (const [days, label] of SPANS) {
      const [from, to] = hours[days] || ["", ""];
      const row = document.createElement("div");
      const name = document.createElement("span");
      name.textContent = label;
      row.append(name, time(days, "from", label, from), " to ", time(days, "to", label, to));
      box.append(row);
    }
  }
  const startHours = hoursText();

  function time(days, end, label, value) {
    const input = document.createElement("input");
    Object.assign(input, { type: "time", value, id: `${days}-${end}` });
    input.setAttribute("aria-label", `${label}, ${end}`);
    input.setAttribute("aria-describedby", "hours-wrong");
    return input;
  }

  // { mon-fri = "07:00-18:00" } as the three rows; null where it says more than they can.
  function readHours(told) {
    const found = {};
    for (const part of told.replace(/^\{|\}$/g, "").split(",")) {
      const match = /^\s*"?([\w-]+)"?\s*=\s*"(\d\d:\d\d)-(\d\d:\d\d)"\s*$/.exec(part);
      if (!match || !SPANS.some(([days]) => days === match[1]) || match[3] === "24:00") return null;
      found[match[1]] = [match[2], match[3]];
    }
    return found;
  }

  function hoursText() {
    if (hours === null) return "";
    const told = [];
    for (const [days] of SPANS) {
      const [from, to] = ["from", "to"].map((end) => document.getElementById(`${days}-${end}`).value);
      if (from && to) told.push(`${days} = "${from}-${to === "00:00" ? "24:00" : to}"`);
    }
    return told.length ? `{${told.join(", ")}}` : "";
  }

  function wrongHours() {
    if (hours === null) return "";
    for (const [days, label] of SPANS) {
      const [from, to] = ["from", "to"].map((end) => document.getElementById(`${days}-${end}`).value);
      if (!from !== !to) return `${label}: give both hours, or none.`;
      if (from && to !== "00:00" && from >= to) return `${label}: the hours end before they begin.`;
    }
    return "";
  }

  // ---- setpoints ----

  const degrees = () => (field("units").value === "ip" ? "degF" : "degC");
  const setpoints = () => ["heating", "cooling"].map((name) => (field(name) ? field(name).value : ""));
  const unit = form.querySelector("#site-setpoints .unit");

  function wrongSetpoints() {
    const [heating, cooling] = setpoints();
    if (heating && cooling && Number(heating) >= Number(cooling)) return "Heating lies at or above cooling.";
    return [heating, cooling].some((value) => value && !Number.isFinite(Number(value))) ? "Give numbers." : "";
  }

  // ---- the file ----

  function setLine(text, key, value) {
    return text.replace(new RegExp(`^${key} = .*$`, "m"), () => `${key} = ${value}`);
  }

  Draft.files["site.toml"] = function () {
    let text = drafted;
    if (field("name").value !== start.name) text = setLine(text, "name", tomlText(field("name").value.trim() || "Unnamed building"));
    if (field("zone").value.trim() && field("zone").value !== start.zone) text = setLine(text, "time_zone", tomlText(field("zone").value.trim()));
    if (field("units").value !== start.units) text = setLine(text, "units", tomlText(field("units").value));
    if (field("dates") && field("dates").value) {
      text = text.replace(/^# The exports cannot tell.*\n# date_order = .*\n# date_order = .*$/m, () => `date_order = ${tomlText(field("dates").value)}`);
    }
    const occupied = hoursText();
    if (occupied !== startHours) {
      if (!given) text = text.replace(/^# \[hours\]\n# occupied = .*$/m, () => `[hours]\noccupied = ${occupied}`);
      else if (occupied) text = setLine(text, "occupied", occupied);
      else text = setLine(text, "occupied", "{}");
    }
    const [heating, cooling] = setpoints();
    if (heating || cooling) {
      const lines = [["heating", heating], ["cooling", cooling]].filter(([, value]) => value);
      const told = lines.map(([name, value]) => `${name} = ${tomlText(`${value} ${degrees()}`)}`).join("\n");
      text = text.replace(/^# \[setpoints\]\n# heating = .*\n# cooling = .*$/m, () => `[setpoints]\n${told}`);
    }
    return text;
  };

  // ---- what is wrong, and the zone of this computer ----

  function zoneWrong() {
    const zone = field("zone").value.trim();
    return !zone || known.has(zone) ? "" : `${zone} is no time zone of the IANA list.`;
  }

  function show(id, sentence, fields) {
    document.getElementById(id).textContent = sentence;
    for (const each of fields) each.toggleAttribute("aria-invalid", Boolean(sentence));
  }

  function check() {
    show("zone-wrong", zoneWrong(), [field("zone")]);
    show("hours-wrong", wrongHours(), []);
    if (unit) {
      unit.textContent = degrees() === "degF" ? "°F" : "°C";
      show("setpoints-wrong", wrongSetpoints(), []);
    }
  }

  Draft.checks.push(zoneWrong, wrongHours, () => (unit ? wrongSetpoints() : ""));
  Draft.todo = () => [
    ...(zoneKnown || field("zone").value.trim() ? [] : ["the time zone"]),
    ...(field("dates") && !field("dates").value ? ["the order of day and month"] : []),
  ];
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const button = document.getElementById("zone-here");
  if (!zoneKnown && known.has(here) && here !== "UTC") {
    button.textContent = `Use this computer's: ${here}`;
    button.hidden = false;
    button.addEventListener("click", () => {
      field("zone").value = here;
      check();
      Draft.touch();
    });
  }
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", () => {
    check();
    Draft.touch();
  });
  check();
})();
