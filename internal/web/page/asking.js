'use strict';
// Asking the server: the draft as one types, the pour when one pauses, and
// the pictures that are in sight; and what it refuses, told at its entry.

function say(text, bad) { const s = $('#state'); s.className = bad ? 'bad' : ''; if (s.textContent !== text) s.textContent = text; }
async function post(name, body, options = {}) {
  const response = await fetch(`/v1/${name}${options.query || ''}`, { method: 'POST', headers: { 'Content-Type': options.type || 'application/json' }, body: options.type ? body : JSON.stringify(body), signal: options.signal });
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
    delete body.pour_options;
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
// ---- answers that no longer belong to the entries

// stale marks what depends on the entries as old: the pour has no verdict until
// it is followed again, and a sheet that was made can no longer be saved.
function stale() {
  front = pourFault = null;
  if (draft) pour(draft.pieces[current] || {});
  for (const s of $$('.slip, #planned')) if (s.firstChild && s.id !== 'marked') s.classList.add('old');
  for (const f of $$('figure[data-picture]')) f.classList.add('old');
  noPaper();
}
// otherPiece takes away what was said of the piece before.
function otherPiece() {
  front = pourFault = null;
  put('improvements', []);
  for (const kind of ['front', 'freezing']) hide($(`[data-picture=${kind}]`));
  for (const f of $$('figure[data-picture]')) f.classList.add('old');
}
// forget takes away what was said of the order before.
function forget() {
  put('options', []);
  $('#planned').replaceChildren();
  $('#planned').classList.remove('old');
  for (const f of $$('figure[data-picture]')) hide(f);
  noPaper();
}
function noPaper() {
  const a = $('#benchlink a');
  if (a) { URL.revokeObjectURL(a.href); $('#benchlink').textContent = 'The entries have changed since the sheet was made; make it again.'; }
}
// only lets an answer through if the entries are still those it was asked for.
async function only(asking) {
  const asked = version, piece = current, answer = await asking;
  if (asked !== version || piece !== current) throw new Error('The entries changed while it was worked out; ask again.');
  return answer;
}
let timer, running, later, pourFault = null;
function ask(wait) {
  clearTimeout(timer);
  clearTimeout(later);
  timer = setTimeout(work, wait);
}
async function work() {
  running?.abort();
  const me = running = new AbortController(), { body, back } = asked(false), of = version;
  say('Working it out …');
  try {
    const answer = await post('drafts', body, { signal: me.signal });
    if (me !== running) return;
    draft = answer;
    draftOf = of;
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
    if (err.problem) { // a refusal takes the place of the answer
      draft = front = null;
      render();
      for (const f of $$('figure[data-picture]')) hide(f);
    }
    say(told.length ? `To see to: ${told[0]}${told.length > 1 ? ` (and ${told.length - 1} more)` : ''}` : err.problem ? err.message : 'The server does not answer. What you typed is kept; change anything to ask again.', true);
  }
}
// pourNow follows the metal of this piece; it takes long, so it waits longer
// and leaves the improvements out.
function pourNow(me) {
  const pour = draft?.pieces[current]?.pour;
  if (!pour) return;
  later = setTimeout(async () => {
    try {
      const answer = await post('fills', { ...pour, improvements: false }, { signal: me.signal });
      if (me !== running) return;
      front = answer;
      render();
      picture($('[data-picture=front]'), 'fills', { ...pour, improvements: false }, me);
    } catch (err) {
      if (err.name === 'AbortError' || me !== running) return;
      if (err.status === 429 || err.status === 503) return pourNow(me);
      refusedPour(err);
    }
  }, 500);
}

// refusedPour says why the pour cannot be followed, at its entry and in the
// place of the verdict.
function refusedPour(err) {
  const at = `pieces[${current}].`, moulded = location => $(`#pour [data-f="mould.${location}"]`) ? 'mould.' + location : location;
  const errors = (err.problem?.errors || []).map(e => ({ ...e, location: at + moulded(e.location.replace(/^body\.?/, '')) }));
  const told = errors.length ? faults(errors, {}) : [err.problem ? err.message : 'The server does not answer.'];
  front = null;
  pourFault = told[0];
  hide($('[data-picture=front]'));
  render();
  say(`To see to: ${told[0]}${told.length > 1 ? ` (and ${told.length - 1} more)` : ''}`, true);
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
    if (kind === 'front' || kind === 'freezing' || !(all || seen.has(figure.closest('section')))) continue;
    picture(figure, 'drafts', { ...asked(false).body, picture: kind, picture_piece: current + 1 }, running);
  }
  if (!all) settle = setTimeout(() => pictures(true), 2500);
}
function hide(figure) {
  figure.hidden = true;
  drawn.delete(figure.dataset.picture);
}
// hang shows an SVG, with its own title and description as its alternative.
function hang(figure, svg) {
  const img = $('img', figure), part = tag => new DOMParser().parseFromString(svg, 'image/svg+xml').querySelector(tag)?.textContent || '';
  URL.revokeObjectURL(img.src);
  img.src = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  img.alt = [part('title'), part('desc')].filter(Boolean).join('. ') || $('figcaption', figure).textContent;
  figure.hidden = false;
  figure.classList.remove('old');
}
async function picture(figure, name, body, me) {
  const wanted = JSON.stringify(body), kind = figure.dataset.picture;
  if (drawn.get(kind) === wanted) { if (!figure.hidden) figure.classList.remove('old'); return; }
  drawn.set(kind, wanted);
  try {
    const blob = await post(name, body, { query: '?format=svg&working=false', blob: true, signal: me?.signal });
    hang(figure, await blob.text());
  } catch (err) {
    drawn.delete(kind);
    if (err.name !== 'AbortError') { figure.hidden = true; drawn.set(kind, wanted); }
  }
}
