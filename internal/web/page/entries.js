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
// An answer belongs to the entries of one version; version counts their changes.
let order = {}, current = 0, draft = null, front = null, version = 0, draftOf = 0;

const straightKinds = ['bar', 'pendant', 'disc', 'drop'];
// ---- the order by paths: "pieces.0.width_mm"

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
  by ??= straightKinds.includes(p.kind) || p.length_mm != null ? 'length_mm' : p.ring_size || p.ring_system ? 'ring_size' : p.inside_diameter_mm != null ? 'inside_diameter_mm' :
    p.hand_circumference_mm != null || p.kind !== 'ring' && p.kind !== 'signet' ? 'hand_circumference_mm' : 'ring_size';
  $('#measured').value = by;
  for (const b of $$('.by')) b.hidden = b.dataset.by !== by;
}
// unmeasure forgets how the piece was measured, and asks by another measure.
function unmeasure(by) {
  const p = order.pieces[current], straight = straightKinds.includes(p.kind);
  const keep = by || (straight ? 'length_mm' : p.length_mm != null ? null : $('#measured').value);
  for (const k of ['hand_circumference_mm', 'inside_diameter_mm', 'ring_size', 'ring_system', 'length_mm'])
    if (k !== keep && !(keep === 'ring_size' && k === 'ring_system')) set(`pieces.${current}.${k}`);
  for (const f of $$('.by [data-f]')) show(f);
  measured(by);
}
function showAll() {
  order.pieces ??= [];
  if (!order.pieces.length) order.pieces.push({ name: 'first piece', kind: 'bangle' });
  current = Math.min(current, order.pieces.length - 1);
  tabs();
  measured();
  for (const box of $$('.rows')) rows(box);
  for (const f of $$('main > section [data-f]')) if (!f.closest('.row')) show(f);
  for (const d of $$('.more')) if (!d.closest('.row')) d.open = $$('[data-f]', d).some(f => get(place(f)) !== undefined);
}

function changed() {
  version++;
  stale();
  keep();
  ask(350);
}
document.addEventListener('input', e => {
  const f = e.target.closest('[data-f]');
  if (e.target.id === 'explain') return document.body.classList.toggle('explain', e.target.checked);
  if (e.target.name === 'piece') { current = +e.target.value; showAll(); otherPiece(); render(); clearFaults(); ask(0); keep(); return; }
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
    if (path === `pieces.${current}.kind`) unmeasure();
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
  showAll(); otherPiece(); changed();
  $('#size [data-f=name] input').focus();
};
$('#droppiece').onclick = () => {
  order.pieces.splice(current, 1);
  current = Math.max(0, current - 1);
  draft = null;
  showAll(); otherPiece(); render(); changed();
  $('.tabs input:checked').focus();
};
const begin = next => { order = next; current = 0; draft = null; showAll(); otherPiece(); forget(); render(); changed(); };
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
  draft = null;
  version++;
  showAll();
  otherPiece();
  forget();
  render();
  ask(0);
}
addEventListener('hashchange', () => { if (location.hash !== kept && location.hash.includes('o=')) restore(); });
