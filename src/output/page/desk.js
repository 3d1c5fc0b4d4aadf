// SPDX-License-Identifier: GPL-3.0-or-later
// The desk in the browser: sends what was changed, asks for what is newer than what is shown, and
// puts it in its place. Nothing is computed or worded here.
(function () {
    'use strict';
    var live = document.getElementById('live'),
        knobs = document.getElementById('knobs'),
        trip = document.getElementById('trip'),
        key = knobs.elements.key.value,
        version = live.getAttribute('data-version'),
        busy = false, again = false, sent = [], told = {};

    function all(root, what) { return [].slice.call(root.querySelectorAll(what)); }
    function form_of(form, extra) {
        var data = new URLSearchParams(new FormData(form));
        data.delete('plain');
        Object.keys(extra || {}).forEach(function (name) { data.set(name, extra[name]); });
        return data;
    }

    // ------------------------------------------------------------- what is shown
    function take_values(part) {
        all(part, '#knobs [name]').forEach(function (fresh) {
            var old = knobs.elements[fresh.name];
            if (!old || old.type === 'hidden' || old === document.activeElement || busy || again) { return; }
            if (fresh.tagName === 'SELECT') { old.innerHTML = fresh.innerHTML; }
            old.value = fresh.value;
        });
        all(part, '#knobs input[type=range]').forEach(function (fresh) {
            var old = knobs.querySelector('input[data-for="' + fresh.getAttribute('data-for') + '"]');
            if (!old || old === document.activeElement || busy || again) { return; }
            if (fresh.getAttribute('value') !== '') { old.value = fresh.getAttribute('value'); }
        });
    }
    function time_trips(root) {
        var number = +root.getAttribute('data-answered'), now = performance.now();
        var first = sent.filter(function (s) { return s.number <= number; }).pop();
        if (!first) { return; }
        if (!told.first || told.number !== number) { told = {number: number, first: now - first.at}; }
        var words = 'First look after ' + Math.round(told.first) + ' ms';
        if (root.getAttribute('data-refined') === 'yes') {
            words += ', all landings after ' + Math.round(now - first.at) + ' ms';
            sent = sent.filter(function (s) { return s.number > number; });
        }
        trip.textContent = words + '.';
    }
    function put(html) {
        var part = new DOMParser().parseFromString(html, 'text/html'),
            root = part.getElementById('live'), grid = live.querySelector('.desk-grid'), seen = {};
        if (!root) { return; }
        version = root.getAttribute('data-version');
        ['version', 'number', 'answered', 'refined'].forEach(function (name) {
            live.setAttribute('data-' + name, root.getAttribute('data-' + name));
        });
        all(root, '[data-part]').forEach(function (fresh) {
            var name = fresh.getAttribute('data-part'),
                old = live.querySelector('[data-part="' + name + '"]');
            seen[name] = true;
            fresh = document.importNode(fresh, true);
            if (old) {
                if (old.innerHTML !== fresh.innerHTML) { old.parentNode.replaceChild(fresh, old); }
                old.classList.remove('stale');
            } else { grid.appendChild(fresh); }
        });
        all(live, '.desk-grid > [data-part]').forEach(function (old) {
            if (!seen[old.getAttribute('data-part')]) { old.classList.add('stale'); }
        });
        take_values(root);
        time_trips(root);
    }
    function listen() {
        fetch('/part?key=' + key + '&after=' + version).then(function (answer) {
            return answer.status === 200 ? answer.text().then(put) : null;
        }).then(listen, function () {
            trip.textContent = 'The desk does not answer.';
            setTimeout(listen, 1000);
        });
    }

    // -------------------------------------------------------------- what is sent
    function send(action, data) {
        var at = performance.now();
        busy = true;
        return fetch(action, {method: 'POST', body: data}).then(function (answer) {
            return answer.text().then(function (text) {
                if (answer.ok) { sent.push({number: +text, at: at}); }
            });
        }).catch(function () {
            trip.textContent = 'The desk does not answer.';
        }).then(function () {
            busy = false;
            if (again) { again = false; change(); }
        });
    }
    function change() { // one at a time; what is changed meanwhile goes together after it
        if (busy) { again = true; return; }
        send('/change', form_of(knobs));
    }
    function clear(names) { names.forEach(function (name) { knobs.elements[name].value = ''; }); }

    all(knobs, 'input[type=range]').forEach(function (range) {
        var text = document.getElementById(range.getAttribute('data-for'));
        range.hidden = false;
        if (range.getAttribute('value') === '') { range.value = range.min; }
        range.addEventListener('input', function () {
            text.value = range.value + ' ' + range.getAttribute('data-unit');
            if (text.id === 'k-speed') { // a gust goes along unless it is set itself
                var gust = document.getElementById('k-gust');
                if (parseFloat(gust.value) < +range.value) { gust.value = text.value; }
            }
            change();
        });
    });
    knobs.addEventListener('change', function (event) {
        var name = event.target.name;
        if (!name || name === 'any' || name === 'value' || name === 'time') { return; }
        change();
    });
    document.addEventListener('submit', function (event) {
        var form = event.target, button = event.submitter, extra = {};
        event.preventDefault();
        var action = button && button.hasAttribute('formaction') ? button.getAttribute('formaction')
            : form.getAttribute('action');
        if (button && button.name) { extra[button.name] = button.value; }
        if (form === knobs && action === '/change') {
            change();
            clear(['any', 'value']);
            return;
        }
        document.activeElement.blur();
        send(action, form_of(form, extra));
        if (form === knobs) { clear(['time']); }
    });

    // --------------------------------------------------------- plots that are clicked
    function set(values) {
        var data = new URLSearchParams({key: key});
        Object.keys(values).forEach(function (name) { data.set(name, values[name]); });
        document.activeElement.blur();
        send('/change', data);
    }
    function main_at(svg, event) { // the height of the trade whose mark is nearest
        var at = svg.createSVGPoint(), best = null, least = Infinity;
        at.x = event.clientX;
        at.y = event.clientY;
        at = at.matrixTransform(svg.getScreenCTM().inverse());
        all(live, 'tr[data-mark]').forEach(function (row) {
            var away = Math.abs(parseFloat(row.getAttribute('data-mark').slice(1)) - at.x);
            if (away < least) { least = away; best = row; }
        });
        return best;
    }
    live.addEventListener('click', function (event) {
        var plot = event.target.closest('[data-part=trade] svg'),
            cell = event.target.closest('[data-part=hours] [data-hour]');
        if (plot) {
            var row = main_at(plot, event);
            if (row) { set({main: row.getAttribute('data-main').replace('\u00a0', ' ')}); }
        }
        if (cell) {
            var values = {'wind.time': cell.getAttribute('data-hour')},
                height = event.target.closest('[data-main]');
            if (height) { values.main = height.getAttribute('data-main'); }
            set(values);
        }
    });
    listen();
})();
