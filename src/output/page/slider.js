// SPDX-License-Identifier: GPL-3.0-or-later
// The slider moves the contours that the trade's table carries along.
(function () {
    'use strict';
    var rows = [].slice.call(document.querySelectorAll('tr[data-c50]')),
        box = document.getElementById('slider'),
        range = document.getElementById('main-height'),
        say = document.getElementById('said'),
        back = document.getElementById('back'),
        figure = document.getElementById('zone-figure'),
        mark = document.getElementById('trade-mark'),
        middle = document.getElementById('zone-middle'),
        first = {};
    if (!box || !rows.length) { return; }
    function each(f) {
        ['50', '90', '95'].forEach(function (level) {
            ['line-', 'fill-'].forEach(function (kind) {
                var path = document.getElementById(kind + level);
                if (path) { f(path, kind + level, 'data-c' + level); }
            });
        });
    }
    each(function (path, id) { first[id] = path.getAttribute('d'); });
    if (middle) { first.middle = middle.getAttribute('d'); }
    if (mark) { first.mark = mark.getAttribute('d'); }
    function light(row) {
        rows.forEach(function (r) { r.className = r === row ? 'on' : ''; });
    }
    function show() {
        var row = rows[range.value];
        each(function (path, id, name) { path.setAttribute('d', row.getAttribute(name)); });
        if (middle) { middle.setAttribute('d', row.getAttribute('data-middle')); }
        if (mark) { mark.setAttribute('d', row.getAttribute('data-mark')); }
        say.textContent = row.getAttribute('data-say');
        range.setAttribute('aria-valuetext', row.getAttribute('data-height'));
        figure.classList.add('moved');
        light(row);
    }
    function plan() {
        each(function (path, id) { path.setAttribute('d', first[id]); });
        if (middle) { middle.setAttribute('d', first.middle); }
        if (mark) { mark.setAttribute('d', first.mark); }
        range.value = range.defaultValue;
        say.textContent = 'As planned.';
        range.setAttribute('aria-valuetext', 'as planned');
        figure.classList.remove('moved');
        light(null);
    }
    range.addEventListener('input', show);
    back.addEventListener('click', plan);
    box.hidden = false;
    plan();
})();
