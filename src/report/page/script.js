(function () {
  "use strict";
  var SIGHT = 12;
  function plain(cell) { return cell ? cell.textContent.replace(/\s+/g, " ").trim() : ""; }
  function number(cell) {
    // Cells of money have their own magnitude: 900 EUR is less than 12 k EUR.
    var found = plain(cell).replace(/[\s\u2007\u2008\u202f\u00a0]/g, "").replace(/\u2212/g, "-").match(/(-?\d+(?:\.\d+)?(?:e-?\d+)?)(?:(k|M|bn)(?=[A-Z]{3}))?/);
    return found ? parseFloat(found[1]) * ({ k: 1e3, M: 1e6, bn: 1e9 }[found[2]] || 1) : null;
  }
  function make(name, words, of) {
    var made = document.createElement(name);
    if (words) { made.textContent = words; }
    for (var key in of || {}) { made.setAttribute(key, of[key]); }
    return made;
  }
  function labelled(words, field) {
    var label = make("label", words + " ");
    label.appendChild(field);
    return label;
  }
  function parts(heading, row) {
    // "site, stage": a cell of two parts under a heading of two.
    var names = plain(heading).split(", "), cells = row ? plain(row.cells[heading.cellIndex]).split(", ") : [];
    return names.map(function (name, at) { return [name, cells.length === names.length ? cells[at] : null]; });
  }
  function equip(table) {
    var body = table.tBodies[0], rows = Array.prototype.slice.call(body.rows), first = rows.slice();
    var heads = Array.prototype.slice.call(table.tHead.rows[0].cells);
    var by = null, falls = false, all = rows.length <= SIGHT, sought = "", chosen = {};
    var said = make("span", "", { role: "status" }), more = make("button", "", { type: "button" });
    function fits(row) {
      var words = Array.prototype.map.call(row.cells, plain).join(" ").toLowerCase();
      if (sought && words.indexOf(sought) < 0) { return false; }
      return Object.keys(chosen).every(function (name) {
        return !chosen[name] || heads.some(function (head) {
          return parts(head, row).some(function (part) { return part[0] === name && part[1] === chosen[name]; });
        });
      });
    }
    function show() {
      var shown = 0, fit = 0;
      rows.forEach(function (row) {
        var is = fits(row);
        fit += is ? 1 : 0;
        row.hidden = !is || (!all && shown >= SIGHT);
        shown += row.hidden ? 0 : 1;
        body.appendChild(row);
      });
      said.textContent = shown + " of " + rows.length + " rows";
      more.hidden = rows.length <= SIGHT;
      more.textContent = all ? "Show the first " + SIGHT : "Show all";
    }
    function order(at) {
      if (by === at && falls) { by = null; rows = first.slice(); }
      else {
        falls = by === at; by = at;
        var numeric = heads[at].classList.contains("number");
        rows = first.slice().sort(function (a, b) {
          var x = a.cells[at], y = b.cells[at], sign = falls ? -1 : 1;
          if (!numeric) { return sign * plain(x).localeCompare(plain(y)); }
          x = number(x); y = number(y);
          if (x === null || y === null) { return (x === null) - (y === null); }
          return sign * (x - y);
        });
      }
      heads.forEach(function (head, place) {
        head.setAttribute("aria-sort", place !== by ? "none" : falls ? "descending" : "ascending");
      });
      show();
    }
    if (rows.length < 3) { return; }
    heads.forEach(function (head, at) {
      if (!plain(head)) { return; }
      var button = make("button", "", { type: "button" });
      while (head.firstChild) { button.appendChild(head.firstChild); }
      button.addEventListener("click", function () { order(at); });
      head.appendChild(button);
      head.setAttribute("aria-sort", "none");
    });
    if (rows.length < 7) { return; }
    var bar = make("div", "", { "class": "tools" }), field = make("input", "", { type: "search" });
    field.addEventListener("input", function () { sought = field.value.replace(/\s+/g, " ").trim().toLowerCase(); show(); });
    bar.appendChild(labelled("Rows with", field));
    heads.forEach(function (head) {
      parts(head).forEach(function (part) {
        var name = part[0];
        if (["site", "stage", "family"].indexOf(name) < 0 || chosen[name] !== undefined) { return; }
        var words = {};
        first.forEach(function (row) {
          parts(head, row).forEach(function (own) { if (own[0] === name && own[1]) { words[own[1]] = 1; } });
        });
        words = Object.keys(words);
        if (words.length < 2) { return; }
        chosen[name] = "";
        var choice = make("select");
        choice.appendChild(make("option", "all", { value: "" }));
        words.forEach(function (word) { choice.appendChild(make("option", word)); });
        choice.addEventListener("change", function () { chosen[name] = choice.value; show(); });
        bar.appendChild(labelled(name, choice));
      });
    });
    more.addEventListener("click", function () { all = !all; show(); });
    bar.appendChild(said);
    bar.appendChild(more);
    var box = table.parentNode;
    box.parentNode.insertBefore(bar, box);
    show();
  }
  Array.prototype.forEach.call(document.querySelectorAll("table.data"), equip);
  var folded = document.querySelectorAll("details"), opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.prototype.filter.call(folded, function (one) { return !one.open; });
    opened.forEach(function (one) { one.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (one) { one.open = false; });
  });
  function unfold() {
    var at = document.getElementById(location.hash.slice(1));
    while (at) { if (at.tagName === "DETAILS") { at.open = true; } at = at.parentElement; }
  }
  window.addEventListener("hashchange", unfold);
  unfold();
  var contents = document.querySelector("details.contents"), wide = window.matchMedia("(min-width: 1100px)");
  function fold() { if (contents) { contents.open = wide.matches; } }
  wide.addEventListener("change", fold);
  fold();
})();
