'use strict';
// The order is one object, the body that /v1/commissions takes. Entries write
// into it, the address bar keeps it, and the answers come from the server.
const $ = (s, r = document) => r.querySelector(s);
const $$ = (s, r = document) => [...r.querySelectorAll(s)];
const el = (tag, attrs, ...children) => {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(attrs || {})) if (v != null) k in e && k !== 'list' ? e[k] = v : e.setAttribute(k, v);
  e.append(...children.flat().filter(c => c != null && c !== ''));
  return e;
};
let order = {}, current = 0, draft = null, front = null;

// ---- the order by paths: "pieces.0.section.width_mm"

const get = path => path.split('.').reduce((o, k) => o == null ? undefined : o[k], order);
function set(path, value) {
  const steps = path.split('.'), last = steps.pop(), way = [];
  let at = order;
  for (const k of steps) { way.push([at, k]); at = at[k] ??= {}; }
  if (value === undefined) delete at[last]; else at[last] = value;
  for (const [parent, k] of way.reverse()) // objects that became empty go; rows of lists stay
    if (!Array.isArray(parent) && !Array.isArray(parent[k]) && !Object.keys(parent[k]).length) delete parent[k];
}
const place = node => {
  const row = node.closest('.row'), f = node.dataset.f;
  if (row) return row.dataset.path + '.' + f;
  return (node.closest('[data-scope=piece]') ? `pieces.${current}.` : '') + f;
};
const listPath = name => name.replace('piece.', `pieces.${current}.`);

// A plain number is sent as one; text such as "2.5 ozt" goes as it is, for
// the server knows the units of the trade. A comma may be a decimal point.
function read(input) {
  if (input.type === 'checkbox') return input.checked || undefined;
  const text = input.value.trim();
  if (text === '') return undefined;
  if (input.tagName === 'SELECT') return text === input.dataset.default ? undefined : text;
  if (!('number' in input.dataset)) return text;
  const point = /^[+-]?\d+,\d+$/.test(text) ? text.replace(',', '.') : text;
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(point) ? Number(point) : text;
}
function show(f) {
  const value = get(place(f));
  if (f.classList.contains('many')) {
    for (const box of $$('input', f)) box.checked = (value || []).includes(box.value);
    picked(f);
    return;
  }
  const input = $('input,select', f);
  if (input.type === 'checkbox') input.checked = !!value;
  else input.value = value ?? input.dataset.default ?? '';
}
const picked = f => $('.picked', f).textContent = $$('input:checked', f).map(b => b.parentNode.textContent.trim()).join(', ');

// ---- entries

let ids = 0;
function wire(root) {
  for (const f of $$('[data-f]', root)) {
    const hint = $('.hint', f), bad = $('.bad', f), n = ++ids;
    bad.id = 'e' + n; hint.id = 'h' + n;
    for (const input of f.classList.contains('many') ? [] : $$('input,select', f)) {
      input.id = 'i' + n;
      $('label', f).htmlFor = input.id;
      input.setAttribute('aria-describedby', `${bad.id} ${hint.id}`);
    }
    const described = $('fieldset', f);
    if (described) described.setAttribute('aria-describedby', `${bad.id} ${hint.id}`);
  }
}
function rows(box) {
  const name = box.dataset.rows, path = listPath(name);
  box.replaceChildren(...(get(path) || []).map((_, i) => {
    const row = $(`[id="t-${name}"]`).content.cloneNode(true).firstElementChild;
    row.dataset.path = `${path}.${i}`;
    $('legend', row).textContent = `${box.dataset.word[0].toUpperCase()}${box.dataset.word.slice(1)} ${i + 1}`;
    $('.drop', row).setAttribute('aria-label', `Remove ${box.dataset.word} ${i + 1}`);
    if (name === 'piece.stones') $('[data-f=id] input', row).replaceWith(el('select', { className: 'bag' }));
    wire(row);
    return row;
  }));
  bags(box);
  for (const f of $$('[data-f]', box)) show(f);
}
// bags offers the stones at hand where stones are placed.
function bags(root) {
  for (const s of $$('.bag', root)) {
    const value = get(place(s.closest('[data-f]'))) ?? '';
    const names = (order.stones || []).map(x => x.id).filter(Boolean);
    if (value && !names.includes(value)) names.push(value);
    s.replaceChildren(el('option', { value: '' }, '–'), ...names.map(n => el('option', { value: n }, n)));
    s.value = value;
  }
}
function tabs() {
  const pieces = order.pieces;
  $('.tabs').replaceChildren(...pieces.map((p, i) => el('label', {},
    el('input', { type: 'radio', name: 'piece', value: i, checked: i === current }), p.name || `Piece ${i + 1}`)));
  $('#droppiece').disabled = pieces.length < 2;
  $('#addpiece').disabled = pieces.length >= 12;
}
// measured says by what the piece is sized, and shows the entries for it.
function measured(by) {
  const p = order.pieces[current];
  by ??= p.piece === 'pendant' || p.piece === 'bar' || p.length_mm != null ? 'length_mm' : p.ring_size || p.ring_system ? 'ring_size' : p.inside_diameter_mm != null ? 'inside_diameter_mm' :
    p.hand_circumference_mm != null || p.piece !== 'ring' ? 'hand_circumference_mm' : 'ring_size';
  $('#measured').value = by;
  for (const b of $$('.by')) b.hidden = b.dataset.by !== by;
}
// unmeasure forgets how the piece was measured, and asks by another measure.
function unmeasure(by) {
  const p = order.pieces[current], straight = p.piece === 'pendant' || p.piece === 'bar';
  const keep = by || (straight ? 'length_mm' : p.length_mm != null ? null : $('#measured').value);
  for (const k of ['hand_circumference_mm', 'inside_diameter_mm', 'ring_size', 'ring_system', 'length_mm'])
    if (k !== keep && !(keep === 'ring_size' && k === 'ring_system')) set(`pieces.${current}.${k}`);
  for (const f of $$('.by [data-f]')) show(f);
  measured(by);
}
function showAll() {
  order.pieces ??= [];
  if (!order.pieces.length) order.pieces.push({ name: 'first piece', section: { shape: 'half_round' } });
  current = Math.min(current, order.pieces.length - 1);
  tabs();
  measured();
  for (const box of $$('.rows')) rows(box);
  for (const f of $$('main > section [data-f]')) if (!f.closest('.row')) show(f);
  for (const d of $$('.more')) if (!d.closest('.row')) d.open = $$('[data-f]', d).some(f => get(place(f)) !== undefined);
}

function changed() {
  keep();
  ask(350);
}
document.addEventListener('input', e => {
  const f = e.target.closest('[data-f]');
  if (e.target.id === 'explain') return document.body.classList.toggle('explain', e.target.checked);
  if (e.target.name === 'piece') { current = +e.target.value; showAll(); render(); clearFaults(); ask(0); keep(); return; }
  if (e.target.id === 'measured') { unmeasure(e.target.value); return changed(); }
  if (!f) return;
  const path = place(f);
  if (f.classList.contains('many')) {
    const list = $$('input:checked', f).map(b => b.value);
    set(path, list.length ? list : undefined);
    picked(f);
  } else {
    const before = get(path), value = read(e.target);
    set(path, value);
    if (/^stones\.\d+\.id$/.test(path)) {
      for (const p of order.pieces) for (const s of p.stones || []) if (before && s.id === before) s.id = value;
      bags(document);
    }
    if (path === `pieces.${current}.name`) tabs();
    if (path === `pieces.${current}.piece`) unmeasure();
  }
  changed();
});
document.addEventListener('click', e => {
  const link = e.target.closest('a[href^="#"]'), add = e.target.closest('[data-add]'), drop = e.target.closest('.drop');
  if (link) { // the address holds the case: go there without changing it
    e.preventDefault();
    const to = $(link.getAttribute('href'));
    to.scrollIntoView();
    to.tabIndex = -1;
    to.focus({ preventScroll: true });
  } else if (add) {
    const path = listPath(add.dataset.add), list = get(path) || [];
    set(path, [...list, {}]);
    const box = $(`[data-rows="${add.dataset.add}"]`);
    rows(box);
    $('input,select', box.lastElementChild).focus();
    changed();
  } else if (drop) {
    const box = drop.closest('.rows'), path = listPath(box.dataset.rows), i = $$('.row', box).indexOf(drop.closest('.row'));
    const list = get(path).filter((_, k) => k !== i);
    set(path, list.length ? list : undefined);
    rows(box);
    bags(document);
    box.nextElementSibling.focus();
    changed();
  }
});
$('#addpiece').onclick = () => {
  const copy = structuredClone(order.pieces[current]);
  delete copy.stones;
  copy.name = `piece ${order.pieces.length + 1}`;
  current = order.pieces.push(copy) - 1;
  showAll(); changed();
  $('#size [data-f=name] input').focus();
};
$('#droppiece').onclick = () => {
  order.pieces.splice(current, 1);
  current = Math.max(0, current - 1);
  showAll(); changed();
  $('.tabs input:checked').focus();
};
const begin = next => { order = next; current = 0; draft = front = null; $('#planned').replaceChildren(); showAll(); render(); changed(); };
$('#afresh').onclick = () => begin({});
$('#example').onclick = async () => begin(await (await fetch('/page/example.json')).json());
$('#share').onclick = async e => {
  await keepNow();
  const done = text => { e.target.textContent = text; setTimeout(() => e.target.textContent = 'Copy the link to this case', 2500); };
  try { await navigator.clipboard.writeText(location.href); done('Copied'); } catch { done('Copy it from the address bar'); }
};

// ---- the address: #o=ORDER&p=PIECE&t=TOPIC&s=CASE

const codec = async (bytes, stream) => new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(stream)).arrayBuffer());
async function pack(text) {
  const bytes = await codec(new TextEncoder().encode(text), new CompressionStream('deflate-raw'));
  let s = '';
  for (const b of bytes) s += String.fromCharCode(b);
  return btoa(s).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
}
async function unpack(text) {
  const bytes = Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), c => c.charCodeAt(0));
  return new TextDecoder().decode(await codec(bytes, new DecompressionStream('deflate-raw')));
}
let keeping, kept = '';
function keep() { clearTimeout(keeping); keeping = setTimeout(keepNow, 250); }
async function keepNow() {
  clearTimeout(keeping);
  const text = JSON.stringify(order);
  kept = `#o=${await pack(text)}&p=${current + 1}&t=${$('#topic').value}&s=${encodeURIComponent($('#seed').value)}`;
  history.replaceState(null, '', kept);
}
async function restore() {
  const q = new URLSearchParams(location.hash.slice(1));
  if (q.get('t')) $('#topic').value = q.get('t');
  if (q.get('s')) $('#seed').value = q.get('s');
  let next = null;
  if (q.get('o')) try { next = JSON.parse(await unpack(q.get('o'))); } catch { say('The case in the address cannot be read; this is the invented example.', true); }
  if (!next || typeof next !== 'object') next = await (await fetch('/page/example.json')).json();
  order = next;
  current = Math.max(0, (parseInt(q.get('p')) || 1) - 1);
  showAll();
  ask(0);
}
addEventListener('hashchange', () => { if (location.hash !== kept && location.hash.includes('o=')) restore(); });

// ---- asking

function say(text, bad) { const s = $('#state'); s.className = bad ? 'bad' : ''; if (s.textContent !== text) s.textContent = text; }
async function post(name, body, options = {}) {
  const response = await fetch(`/v1/${name}${options.query || ''}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body), signal: options.signal });
  if (response.ok) return options.blob ? response.blob() : response.json();
  const problem = await response.json().catch(() => ({ detail: 'The server gave no answer that can be read.' }));
  throw Object.assign(new Error(problem.detail), { problem, status: response.status, after: Number(response.headers.get('Retry-After')) || 0 });
}
// asked is the order without rows in which nothing is written yet; back leads
// from its indices to those on the page.
function asked(whole) {
  const body = structuredClone(order), back = {};
  const strip = (path, holder, key) => {
    const list = holder[key];
    if (!list) return;
    const rows = list.map((row, i) => [row, i]).filter(([row]) => Object.keys(row).length);
    back[path] = rows.map(([, i]) => i);
    if (rows.length) holder[key] = rows.map(([row]) => row); else delete holder[key];
  };
  strip('lots', body, 'lots');
  strip('stones', body, 'stones');
  body.pieces.forEach((p, i) => strip(`pieces.${i}.stones`, p, 'stones'));
  const p = body.prices || {};
  if (!whole) {
    delete body.paper;
    delete body.ways;
    if (!p.currency || p.metal_price_per_gram == null || p.hourly_rate == null) delete body.prices;
  }
  return { body, back };
}
const where = (location, back) => {
  let path = location.replace(/^body\.?/, '').replace(/\[(\d+)\]/g, '.$1');
  for (const [list, indices] of Object.entries(back))
    path = path.replace(new RegExp(`^(${list.replaceAll('.', '\\.')})\\.(\\d+)`), (m, l, i) => `${l}.${indices[i] ?? i}`);
  return path;
};
function clearFaults() {
  for (const f of $$('.wrong')) f.classList.remove('wrong');
  for (const b of $$('[data-f] > .bad')) b.textContent = '';
  for (const i of $$('[aria-invalid]')) i.removeAttribute('aria-invalid');
}
// faults puts each message at its entry, and tells what has none.
function faults(errors, back) {
  clearFaults();
  const fields = $$('main [data-f]'), told = [];
  for (const { location, message } of errors) {
    const path = where(location, back);
    const f = fields.find(f => place(f) === path) ||
      fields.find(f => place(f).startsWith(path + '.') && !f.closest('[hidden]')) || fields.find(f => path.startsWith(place(f) + '.'));
    const piece = /^pieces\.(\d+)/.exec(path);
    if (piece) $$('.tabs label')[piece[1]]?.classList.add('wrong');
    if (!f || f.closest('[hidden]')) { told.push((piece ? `${order.pieces[piece[1]]?.name || 'piece'}: ` : '') + message); continue; }
    f.classList.add('wrong');
    $('.bad', f).textContent = message;
    const input = $('input,select', f);
    if (!f.classList.contains('many')) input.setAttribute('aria-invalid', 'true');
    const more = f.closest('details.more');
    if (more) more.open = true;
    told.push(`${$('label,summary', f).firstChild.textContent.trim()}: ${message}`);
  }
  return told;
}
let timer, running, later;
function ask(wait) {
  clearTimeout(timer);
  clearTimeout(later);
  timer = setTimeout(work, wait);
}
async function work() {
  running?.abort();
  const me = running = new AbortController(), { body, back } = asked(false);
  say('Working it out …');
  try {
    const answer = await post('drafts', body, { signal: me.signal });
    if (me !== running) return;
    draft = answer;
    const told = faults(answer.open, back);
    say(told.length ? `To see to: ${told[0]}${told.length > 1 ? ` (and ${told.length - 1} more)` : ''}` : 'Worked out.', told.length > 0);
    if (draft.pieces[current]?.pour == null) front = null;
    render();
    pictures();
    pourNow(me);
  } catch (err) {
    if (err.name === 'AbortError' || me !== running) return;
    if (err.status === 429 || err.status === 503) {
      say('The server is busy; asking again.');
      return ask(1000 * (err.after || 2));
    }
    const told = err.problem?.errors ? faults(err.problem.errors, back) : [];
    for (const s of $$('.two .slip')) s.classList.add('old');
    say(told.length ? `To see to: ${told[0]}${told.length > 1 ? ` (and ${told.length - 1} more)` : ''}` : err.problem ? err.message : 'The server does not answer. What you typed is kept; change anything to ask again.', true);
  }
}
// pourNow follows the metal of this piece; it takes long, so it waits longer
// and leaves the levers out.
function pourNow(me) {
  const pour = draft?.pieces[current]?.pour;
  if (!pour) return;
  later = setTimeout(async () => {
    try {
      const answer = await post('fills', { ...pour, levers: false }, { signal: me.signal });
      if (me !== running) return;
      front = answer;
      render();
      picture($('[data-picture=front]'), 'fills', { ...pour, levers: false }, me);
    } catch (err) {
      if (me === running && (err.status === 429 || err.status === 503)) pourNow(me);
    }
  }, 500);
}

// ---- pictures

for (const img of $$('figure img')) { const pan = el('div', { className: 'pan', tabIndex: 0, role: 'group' }); pan.setAttribute('aria-label', $('figcaption', img.parentNode).textContent); img.replaceWith(pan); pan.append(img); }
const seen = new Set(), drawn = new Map();
const watch = new IntersectionObserver(entries => {
  for (const x of entries) x.isIntersecting ? seen.add(x.target) : seen.delete(x.target);
  pictures();
}, { rootMargin: '300px' });
let settle;
function pictures(all) {
  if (!draft) return;
  clearTimeout(settle);
  for (const figure of $$('figure[data-picture]')) {
    const kind = figure.dataset.picture;
    if (kind === 'front' || !(all || seen.has(figure.closest('section')))) continue;
    picture(figure, 'drafts', { ...asked(false).body, picture: kind, picture_piece: current + 1 }, running);
  }
  if (!all) settle = setTimeout(() => pictures(true), 2500);
}
async function picture(figure, name, body, me) {
  const wanted = JSON.stringify(body), kind = figure.dataset.picture, img = $('img', figure);
  if (drawn.get(kind) === wanted) return;
  drawn.set(kind, wanted);
  try {
    const blob = await post(name, body, { query: '?format=svg&working=false', blob: true, signal: me?.signal });
    const text = await blob.text();
    const part = tag => new DOMParser().parseFromString(text, 'image/svg+xml').querySelector(tag)?.textContent || '';
    URL.revokeObjectURL(img.src);
    img.src = URL.createObjectURL(new Blob([text], { type: 'image/svg+xml' }));
    img.alt = [part('title'), part('desc')].filter(Boolean).join('. ');
    figure.hidden = false;
  } catch (err) {
    drawn.delete(kind);
    if (err.name !== 'AbortError') { figure.hidden = true; drawn.set(kind, wanted); }
  }
}

// ---- answers

const round = v => typeof v !== 'number' ? v : Math.abs(v) >= 1000 ? v.toFixed(0) : String(Number(v.toPrecision(4)));
const opened = new Set();
// fig is a number with its working and sources behind it.
function fig(key, label, value, unit, notes, main) {
  if (value == null) return null;
  const why = el('div', { className: 'why' });
  const d = el('details', { className: 'fig' + (main ? ' main' : '') }, el('summary', {}, el('span', {}, label), el('b', {}, `${round(value)}${unit ? ' ' + unit : ''}`)), why);
  d.dataset.key = key;
  $('b', d).dataset.value = value;
  const fill = () => { if (!why.firstChild) why.append(...reasons(value, notes)); };
  if (opened.has(key)) { d.open = true; fill(); }
  d.addEventListener('toggle', () => { d.open ? opened.add(key) : opened.delete(key); if (d.open) fill(); });
  return d;
}
function reasons(value, notes) {
  const steps = notes?.working || [], sources = notes?.sources || [];
  const same = s => typeof value === 'number' && Math.abs(s.value - value) <= 2e-6 * Math.abs(value);
  return [
    steps.length ? el('ol', {}, steps.map(s => el('li', { className: same(s) ? 'this' : '' }, `${s.what} `, el('code', {}, `= ${s.expression} = ${round(s.value)} ${s.unit}`)))) : null,
    sources.length ? el('p', { className: 'rests' }, 'It rests on') : null,
    sources.length ? el('ul', {}, sources.map(s => el('li', {}, `${s.for}: ${s.text} `, el('span', { className: 'status' }, `(${s.status})`)))) : null,
  ].filter(Boolean);
}
const h = text => el('h3', {}, text);
const p = text => text ? el('p', { className: 'say' }, text) : null;
const severity = { danger: 'Danger', care: 'Care', note: 'Note' };
const caution = c => el('p', { className: 'caution ' + c.severity }, el('strong', {}, severity[c.severity] + '.'), c.text);
// cautions shows every danger, and of the others three; the rest unfold.
function cautions(list) {
  const danger = (list || []).filter(c => c.severity === 'danger'), other = (list || []).filter(c => c.severity !== 'danger');
  const rest = other.length > 4 ? other.splice(3) : [];
  return [...danger.map(caution), ...other.map(caution), rest.length ? el('details', { className: 'rest' }, el('summary', {}, `${rest.length} more to mind`), rest.map(caution)) : null];
}
const table = (caption, heads, rows) => rows.length ? el('table', {}, el('caption', {}, caption),
  el('thead', {}, el('tr', {}, heads.map((t, i) => el('th', { scope: 'col', className: i ? 'num' : '' }, t)))),
  el('tbody', {}, rows.map(r => el('tr', {}, r.map((t, i) => el('td', { className: i ? 'num' : '' }, String(t ?? ''))))))) : null;
function put(name, items) {
  const slip = $(`[data-slip="${name}"]`), key = document.activeElement?.closest?.('.fig')?.dataset.key;
  slip.replaceChildren(...items.flat(9).filter(Boolean));
  slip.classList.remove('old');
  if (key) $(`[data-key="${CSS.escape(key)}"] summary`, slip)?.focus({ preventScroll: true });
}
const capital = s => s ? s[0].toUpperCase() + s.slice(1) : '';
const words = s => capital(String(s).replaceAll('_', ' '));
const verdict = v => el('span', { className: 'verdict ' + v }, { go: 'Go', care: 'Go with care', go_with_care: 'Go with care', do_not_pour: 'Do not pour as planned' }[v] || words(v));

function render() {
  const d = draft?.pieces[current] || {};
  size(d); section(d); scrap(d); stones(d); pour(d); price();
}
function size(d) {
  const b = d.bangle_fit, r = d.ring_size;
  put('size', [
    fig('size.inside', 'Inside diameter, finished', d.inside_diameter_mm, 'mm', b || r, true), fig('size.length', 'Length, finished', d.length_mm, 'mm', d.mould, true),
    b && [fig('size.round', 'Inside circumference', b.inside_circumference_mm, 'mm', b), fig('size.hand', 'Hand', b.hand_circumference_mm, 'mm', b), fig('size.ease', 'Ease over the hand', b.ease_mm, 'mm', b),
      fig('size.blank', 'Strip to bend it from', b.blank_length_mm, 'mm', b), p(capital(b.verdict) + (b.verdict.endsWith('up to') ? ` ${round(b.hand_circumference_mm)} mm.` : '.')),
      table('Named sizes near it; none is a standard', ['Size', 'Inside, mm', 'Custom'], b.named_sizes.filter(n => n.inside_diameter_mm).map(n => [n.size, round(n.inside_diameter_mm), n.custom]))],
    r && [fig('size.round', 'Inside circumference', r.circumference_mm, 'mm', r),
      table('Nearest marked sizes', ['System', 'Size', 'Off, mm'], [['ISO 8653', r.iso], ['US and Canada', r.us], ['UK and Ireland', r.uk], ['Japan', r.japan]].map(([n, s]) => [n, s.size, round(s.residual_mm)]))],
    cautions((b || r)?.cautions)]);
}
const bySize = s => s.shape === 'round' ? `${round(s.thickness_mm)} mm round` : `${round(s.thickness_mm)} × ${round(s.width_mm)} mm ${words(s.shape).toLowerCase()}`;
function section(d) {
  const m = d.mould, e = m?.edit, g = m?.gain;
  put('section', !m ? [] : [
    d.length_mm ? fig('mould.length', 'Mould, length', m.arc_length_mm, 'mm', m, true) : fig('mould.inside', 'Mould, inside diameter', m.mould.inside_diameter_mm, 'mm', m, true), p(`Mould section ${bySize(m.fill_section)}.`),
    !d.length_mm && [fig('mould.least', 'Finished size, at least', m.finished_least_mm, 'mm', m), fig('mould.greatest', 'Finished size, at most', m.finished_greatest_mm, 'mm', m)],
    fig('mould.contraction', 'Contraction reckoned with', m.contraction_pct, '%', m), fig('mould.mass', 'Casting', m.casting_mass_g, 'g', m), fig('finished', 'Finished piece', d.finished_g, 'g', d.melt),
    m.bench_options.length ? [h('The pattern at hand'), p(capital(m.advice) + '.')] : null,
    e && e.action !== 'use as it is' && [fig('edit.arc', e.action === 'cut' ? 'Cut out of the impression' : 'Let into the impression', Math.abs(e.arc_mm), 'mm', m), p(`At ${e.joints.map(j => round(j.at_deg) + '°').join(', ')} from the gate.`)],
    g && [g.push_mm > 0 && fig('gain.push', 'Push deeper', g.push_mm, 'mm', m), g.scrape_mm > 0 && fig('gain.scrape', 'Scrape from its wall', g.scrape_mm, 'mm', m), fig('gain.mass', 'Metal that adds', g.gained_g, 'g', m)],
    cautions(m.cautions)]);
}
const atPour = ['molten_metal', 'damp_mould', 'torch_gas'], atPrice = ['consumer_law'];
function scrap(d) {
  const t = draft?.metal, melt = d.melt, c = d.charge;
  put('scrap', !melt ? [] : [
    fig('melt.mass', 'Melt for this piece', melt.melt_mass_g, 'g', melt, true), fig('melt.casting', 'Casting', melt.casting_mass_g, 'g', melt), fig('melt.feed', 'Sprue, funnel and vents', melt.feed_mass_g, 'g', melt), fig('melt.loss', 'Lost in the melt', melt.loss_g, 'g', melt),
    c && [table('Weigh out', ['Lot', 'g', 'Share'], c.charge.filter(x => x.weigh_g > 0).map(x => [x.id + (x.bought ? ' (bought)' : ''), x.weigh_g.toFixed(2), round(x.share_pct) + ' %'])),
      fig('charge.fineness', 'Fineness in the worst case', c.fineness_worst_permil, '‰', draft)],
    t && [h('The whole order'), fig('order.melt', 'Metal to melt', t.melt_mass_g, 'g', draft), fig('order.client', "The client's", t.client_metal_g, 'g', draft), fig('order.bought', 'Bought', t.bought_metal_g, 'g', draft),
      table('Left over', ['Lot', 'g'], t.lots_left.map(l => [l.id, l.left_g.toFixed(2)])), t.refused_lots.map(r => el('p', { className: 'caution danger' }, el('strong', {}, 'Keep out.'), `${r.id}: ${r.reason}`))],
    !t && (draft?.open || []).filter(o => /^lots|^pieces/.test(o.location)).slice(0, 3).map(o => p(o.message)),
    cautions((draft?.cautions || []).filter(x => ![...atPour, ...atPrice].includes(x.code)))]);
}
function stones(d) {
  const s = d.stones;
  put('stones', !s ? [] : [s.stones.map((x, i) => [
    h(`${x.quantity} × ${x.gem}`), el('p', { className: 'say' }, verdict(x.verdict)), el('ul', {}, x.reasons.slice(0, 3).map(r => el('li', {}, r.text))),
    x.verdict !== 'do_not_cast_in_place' && [fig(`stone.${i}.press`, 'Press into the clay, table first', x.seat.press_mm, 'mm', s), fig(`stone.${i}.thick`, 'Thinnest section that carries it', x.seat.thickness_min_mm, 'mm', s),
      x.grains.count > 0 && fig(`stone.${i}.grain`, `${x.grains.count} grains, ball tool of`, x.grains.diameter_mm, 'mm', s)],
    fig(`stone.${i}.peak`, 'Its surface reaches', x.heat.peak_surface_c, '°C', s), x.consent_line && el('details', {}, el('summary', {}, 'Consent to be signed'), p(x.consent_line))]),
  cautions(s.cautions)]);
}
const risk = { misrun: 'not filled', cold_shut: 'cold shut', shrinkage: 'shrinkage', detail_loss: 'a detail stays empty' };
function pour(d) {
  const m = d.melt, f = front;
  put('pour', !m ? [] : [
    f ? [el('p', { className: 'say' }, verdict(f.verdict)), fig('fill.failure', 'Risk that the pour fails', f.failure_pct, '%', f, true),
      f.risks.filter(r => r.probability_pct > 0).map(r => fig('fill.' + r.kind, 'of it, ' + risk[r.kind], r.probability_pct, '%', f)),
      fig('fill.time', 'Mould full after', f.nominal.fill_time_s, 's', f), fig('fill.coolest', 'Coolest metal at the front', f.nominal.coolest_c, '°C', f),
      fig('fill.sprue', 'Sprue that feeds it to the end', f.feeding.sprue_needed_mm, 'mm', f), fig('fill.hold', 'Hold the flask shut with', f.flask.hold_kg, 'kg', f), fig('fill.gap', 'Metal stays out of gaps under', f.flask.spill_gap_mm, 'mm', f)] : p('Following the metal …'),
    h('Heat'), fig('melt.pour', 'Pour at', m.pour_c, '°C', m), fig('melt.liquidus', 'All liquid from', m.liquidus_c, '°C', m), fig('melt.heat', 'Heat that the metal takes up', m.heat_kj, 'kJ', m), fig('melt.time', 'At the torch', m.time_s && m.time_s / 60, 'min', m), fig('melt.full', 'Crucible full to', m.crucible_full_pct, '%', m),
    m.crucible_fits === false && el('p', { className: 'caution danger' }, el('strong', {}, 'Danger.'), 'The crucible is too small for this melt.'),
    m.flask_fits === false && el('p', { className: 'caution danger' }, el('strong', {}, 'Danger.'), 'The flask is too small for this piece with clay around it.'),
    cautions([...(draft.cautions || []).filter(x => atPour.includes(x.code)), ...(f?.cautions || []), ...m.cautions].filter((c, i, all) => all.findIndex(x => x.code === c.code && x.text === c.text) === i))]);
}
function bill(q, note) {
  return [fig('price.total', 'Total', `${q.total} ${q.currency}`, '', q, true), fig('price.deposit', 'Deposit', q.deposit, q.currency, q), fig('price.balance', 'Balance', q.balance, q.currency, q), fig('price.tax', 'of it, tax', q.tax, q.currency, q),
    p(`If mass, time and metal come out low or high: ${q.low_total} to ${q.high_total} ${q.currency}.`), p(note),
    table('The bill', ['For', 'Amount'], q.lines.map(l => [l.text, l.amount])), el('details', {}, el('summary', {}, 'In words for the client'), el('pre', {}, q.client_text))];
}
function price() {
  const q = draft?.price;
  put('price', !q ? [] : [bill(q, 'No failed pour is in this price; the plan adds what its risk costs.'), cautions([...q.cautions, ...draft.cautions.filter(x => atPrice.includes(x.code))])]);
}

// ---- the whole

async function busy(button, doing, f) {
  button.disabled = true;
  const text = button.textContent;
  button.textContent = doing;
  try { await f(); } catch (err) {
    const told = err.problem?.errors ? faults(err.problem.errors, asked(true).back) : [];
    say(told[0] ? `To see to: ${told[0]}` : err.message, true);
    $('#benchlink').textContent = told[0] ? `Not yet: ${told[0]}` : err.message;
  } finally { button.disabled = false; button.textContent = text; }
}
$('#levers').onclick = e => busy(e.target, 'Trying changes …', async () => {
  const pour = draft?.pieces[current]?.pour;
  if (!pour) return;
  const f = await post('fills', { ...pour, levers: true });
  put('levers', [p(f.levers.length ? `As planned the pour fails with ${round(f.failure_pct)} %.` : 'No change was tried.'), table('Each by itself, on the same scatter', ['Change', 'Risk then, %'], f.levers.map(l => [l.change, round(l.failure_pct)]))]);
});
$('#plan').onclick = e => busy(e.target, 'Planning …', async () => {
  $('#benchlink').textContent = '';
  const plan = await post('commissions', asked(true).body);
  $('#planned').replaceChildren(...[
    el('p', { className: 'say' }, verdict(plan.verdict)), p(plan.summary),
    plan.pieces.map(x => [h(x.name), el('p', { className: 'say' }, verdict(x.verdict)), el('ul', {}, x.reasons.map(r => el('li', {}, r.text)))]),
    h('At the bench'), el('ol', { className: 'steps' }, plan.steps.map(s => el('li', {}, (s.piece ? s.piece + ': ' : '') + s.do, s.caution ? el('p', { className: 'caution care' }, el('strong', {}, 'Beware.'), s.caution) : ''))),
    h('The price'), ...bill({ ...plan.price, working: plan.working?.filter(s => s.what.startsWith('price')), sources: plan.sources }, `In it ${plan.price.remake} ${plan.price.currency} for pours that fail.`),
    h('Cautions'), cautions(plan.cautions)].flat(9).filter(Boolean));
});
$('#bench').onclick = e => busy(e.target, 'Drawing …', async () => {
  const blob = await post('commissions', asked(true).body, { query: '?format=pdf', blob: true });
  const a = el('a', { href: URL.createObjectURL(blob), download: 'bench-sheet.pdf' }, 'Save the bench sheet');
  $('#benchlink').replaceChildren(a, ' and print it at 100 %, not fitted to the page.');
  a.focus();
});

// ---- practice

async function quiz(extra = {}) {
  const q = new URLSearchParams({ topic: $('#topic').value, seed: $('#seed').value.trim(), ...extra });
  const response = await fetch('/v1/exercises?' + q), x = await response.json();
  const bad = $('#guessbad'), f = bad.parentNode;
  f.classList.toggle('wrong', !response.ok);
  if (!response.ok) { bad.textContent = x.errors?.[0]?.message || x.detail; return; }
  $('#question').replaceChildren(p(x.question), table('Given', ['Quantity', 'Value'], x.given.map(g => [g.name, `${g.text ?? round(g.value)} ${g.unit}`.trim()])));
  $('#guessunit').textContent = x.unit;
  $('#marked').replaceChildren(...[
    x.verdict !== 'not_given' && el('p', { className: 'say' }, el('strong', {}, { right: 'Right.', wrong: 'Not yet.' }[x.verdict]), ` Counted as right within ${round(x.tolerance)} ${x.unit}.`),
    x.verdict === 'wrong' && p(x.hint), x.answer != null && fig('quiz', 'Answer', x.answer, x.unit, x, true)].filter(Boolean));
}
$('#quiz').onsubmit = e => { e.preventDefault(); const input = $('#guess'); const v = input.value.trim().replace(/^([+-]?\d+),(\d+)$/, '$1.$2'); quiz(v ? { answer: v } : {}); };
$('#reveal').onclick = () => quiz({ show: 'true' });
$('#another').onclick = () => { $('#seed').value = (parseInt($('#seed').value) || 0) + 1; fresh(); };
function fresh() { $('#guess').value = ''; $('#marked').replaceChildren(); quiz(); keep(); }
$('#topic').onchange = $('#seed').onchange = fresh;

wire(document);
for (const s of $$('main > section')) if ($('figure', s)) watch.observe(s);
restore().then(() => quiz());
