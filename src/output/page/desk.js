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
        busy = false, again = false, refused = false, named = false, sent = [], told = {};

    function all(root, what) { return [].slice.call(root.querySelectorAll(what)); }
    function form_of(form, extra) {
        var data = new URLSearchParams(new FormData(form));
        data.delete('plain');
        Object.keys(extra || {}).forEach(function (name) { data.set(name, extra[name]); });
        return data;
    }

    // What is written there is nobody's but the writer's until it is sent.
    function is_own(name) { return name === 'any' || name === 'value' || name === 'time'; }

    // ------------------------------------------------------------- what is shown
    function take_values(part) {
        all(part, '#knobs [name]').forEach(function (fresh) {
            var old = knobs.elements[fresh.name];
            if (!old || old.type === 'hidden' || is_own(old.name) || old === document.activeElement || busy || again) { return; }
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
        if (!first) {
            if (!busy) { trip.textContent = root.querySelector('#trip').textContent; }
            return;
        }
        if (!told.first || told.number !== number) { told = {number: number, first: now - first.at}; }
        var words = 'First look after ' + Math.round(told.first) + ' ms';
        if (root.getAttribute('data-refined') === 'yes') {
            words += ', all landings after ' + Math.round(now - first.at) + ' ms';
            sent = sent.filter(function (s) { return s.number > number; });
        }
        trip.textContent = words + '.';
    }
    function keep(old, fresh) { // what was opened stays open, what was scrolled to stays in sight
        all(old, 'input[type=checkbox][id]').forEach(function (box) {
            var same = fresh.querySelector('#' + box.id);
            if (same) { same.checked = box.checked; }
        });
        return all(old, '.scroll').map(function (region) { return region.scrollLeft; });
    }
    function put_part(fresh, grid, last) { // in its place, or behind the last
        var old = live.querySelector('[data-part="' + fresh.getAttribute('data-part') + '"]');
        if (old && old.innerHTML === fresh.innerHTML) {
            old.classList.remove('stale');
            return old;
        }
        fresh = document.importNode(fresh, true);
        if (old) {
            var scrolled = keep(old, fresh);
            old.parentNode.replaceChild(fresh, old);
            all(fresh, '.scroll').forEach(function (region, i) { region.scrollLeft = scrolled[i] || 0; });
        } else { grid.insertBefore(fresh, last ? last.nextSibling : grid.firstChild); }
        return fresh;
    }
    function put(html) {
        var part = new DOMParser().parseFromString(html, 'text/html'),
            root = part.getElementById('live'), grid = live.querySelector('.desk-grid'), seen = {}, last = null;
        if (!root) { return; }
        version = root.getAttribute('data-version');
        ['version', 'number', 'answered', 'refined'].forEach(function (name) {
            live.setAttribute('data-' + name, root.getAttribute('data-' + name));
        });
        live.className = root.className; // an answer to an earlier question is dimmed
        all(root, '.desk-grid > *').forEach(function (fresh) {
            if (fresh.hasAttribute('data-part')) { last = put_part(fresh, grid, last); return; }
            last = live.querySelector('.d-knobs');
            all(fresh, '[data-part]').forEach(function (inner) { put_part(inner); });
        });
        all(root, '[data-part]').forEach(function (fresh) { seen[fresh.getAttribute('data-part')] = true; });
        if (refused && live.querySelector('#told p')) { // where it is seen, be it from the last field
            refused = false;
            live.querySelector('#told').scrollIntoView({block: 'nearest'});
        }
        all(live, '.desk-grid > [data-part]').forEach(function (old) {
            if (!seen[old.getAttribute('data-part')]) { old.classList.add('stale'); }
        });
        take_values(root);
        time_trips(root);
        alive(true);
    }
    function alive(is) { // what a desk that has gone said last is no answer
        live.classList.toggle('gone', !is);
        trip.classList.toggle('doubt', !is);
        if (!is) { trip.textContent = 'The desk does not answer. What stands here is old.'; }
    }
    function listen() {
        fetch('/part?key=' + key + '&after=' + version).then(function (answer) {
            if (answer.status === 200) { return answer.text().then(put); }
            if (answer.status === 204) { return alive(true); }
            if (answer.status === 429) { return new Promise(function (good) { setTimeout(good, 500); }); }
            throw answer; // another desk at this address
        }).then(listen, function () {
            alive(false);
            setTimeout(listen, 1000);
        });
    }

    // -------------------------------------------------------------- what is sent
    function send(action, data) {
        var at = performance.now(), taken = false;
        busy = true;
        return fetch(action, {method: 'POST', body: data}).then(function (answer) {
            return answer.text().then(function (text) {
                taken = answer.ok;
                refused = !taken;
                if (taken) { sent.push({number: +text, at: at}); }
            });
        }).catch(function () {
            alive(false);
        }).then(function () {
            busy = false;
            if (again) { again = false; change(); }
            return taken;
        });
    }
    function change() { // one at a time; what is changed meanwhile goes together after it
        if (busy) { again = true; return; }
        var data = form_of(knobs);
        if (!named) { // a key is sent when its form is, and stands there until it is taken
            data.delete('any');
            data.delete('value');
        }
        named = false;
        send('/change', data).then(function (taken) {
            if (taken && data.get('any')) { clear(['any', 'value']); }
        });
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
        if (event.target.name && !is_own(event.target.name)) { change(); }
    });
    document.addEventListener('submit', function (event) {
        var form = event.target, button = event.submitter, extra = {};
        event.preventDefault();
        var action = button && button.hasAttribute('formaction') ? button.getAttribute('formaction')
            : form.getAttribute('action');
        if (button && button.name) { extra[button.name] = button.value; }
        if (form === knobs && action === '/change') {
            named = true;
            change();
            return;
        }
        document.activeElement.blur();
        send(action, form_of(form, extra)).then(function (taken) {
            if (taken && form === knobs) { clear(['time']); }
        });
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
