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
        halo = document.getElementById('zone-middle-halo'),
        height = document.querySelector('#zone-height text'),
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
    if (height) { first.height = height.textContent; }
    function light(row) {
        rows.forEach(function (r) { r.className = r === row ? 'on' : ''; });
    }
    function put(path, mark_path, words) {
        if (middle) { middle.setAttribute('d', path); halo.setAttribute('d', path); }
        if (mark) { mark.setAttribute('d', mark_path); }
        if (height) { height.textContent = words; }
    }
    function show() {
        var row = rows[range.value], told = row.getAttribute('data-height');
        each(function (path, id, name) { path.setAttribute('d', row.getAttribute(name)); });
        put(row.getAttribute('data-middle'), row.getAttribute('data-mark'), 'Main at ' + told);
        say.textContent = row.getAttribute('data-say');
        range.setAttribute('aria-valuetext', told);
        figure.classList.add('moved');
        light(row);
    }
    function plan() {
        each(function (path, id) { path.setAttribute('d', first[id]); });
        put(first.middle, first.mark, first.height);
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
