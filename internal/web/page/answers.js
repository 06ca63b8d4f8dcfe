'use strict';
// The answers: each number with its working and its sources behind it.

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
    sources.length ? el('ul', {}, sources.map(s => el('li', {}, `${s.for}: ${s.text} `, el('span', { className: 'status' }, `(${standing[s.status]})`)))) : null,
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
  slip.classList.toggle('old', draftOf !== version && !['options', 'improvements'].includes(name) && !!slip.firstChild);
  if (key) $(`[data-key="${CSS.escape(key)}"] summary`, slip)?.focus({ preventScroll: true });
}
const capital = s => s ? s[0].toUpperCase() + s.slice(1) : '';
const words = s => capital(String(s).replaceAll('_', ' '));
const standing = { confirmed: 'confirmed', computed: 'computed', from_memory: 'from memory', practice: 'common practice, no source', choice: 'engineering choice', your_input: 'given by you' };
const verdict = v => el('span', { className: 'verdict ' + v }, { go: 'Go', care: 'Go with care', cannot_tell: 'Cannot tell', not_yet: 'Not yet', do_not_pour: 'Do not pour as planned' }[v] || words(v));

function render() {
  const d = draft?.pieces[current] || {};
  size(d); section(d); scrap(d); stones(d); pour(d); price();
}
function size(d) {
  const b = d.bangle_fit, r = d.ring_size;
  put('size', [
    fig('size.inside', 'Inside diameter, finished', d.inside_diameter_mm, 'mm', b || r, true), fig('size.length', 'Length, finished', d.length_mm, 'mm', d.mould, true),
    b && [fig('size.round', 'Inside circumference', b.inside_circumference_mm, 'mm', b), fig('size.hand', 'Hand', b.hand_circumference_mm, 'mm', b), fig('size.ease', 'Ease over the hand', b.ease_mm, 'mm', b),
      fig('size.blank', 'Strip to bend it from', b.blank_length_mm, 'mm', b), p(words(b.verdict) + (b.verdict.endsWith('up_to') ? ` ${round(b.hand_circumference_mm)} mm.` : '.')),
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
    m.bench_options.length ? [h('The pattern at hand'), p(words(m.advice) + '.')] : null,
    e && e.action !== 'use_as_it_is' && [fig('edit.arc', e.action === 'cut' ? 'Cut out of the impression' : 'Let into the impression', Math.abs(e.arc_mm), 'mm', m), p(`At ${e.joints.map(j => round(j.at_deg) + '°').join(', ')} from the gate.`)],
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
    x.verdict !== 'do_not_pour' && [fig(`stone.${i}.press`, 'Press into the clay, table first', x.seat.press_mm, 'mm', s), fig(`stone.${i}.thick`, 'Thinnest section that carries it', x.seat.thickness_min_mm, 'mm', s),
      x.grains.count > 0 && fig(`stone.${i}.grain`, `${x.grains.count} grains, ball tool of`, x.grains.diameter_mm, 'mm', s)],
    fig(`stone.${i}.peak`, 'Its surface reaches', x.heat.peak_surface_c, '°C', s), x.consent_line && el('details', {}, el('summary', {}, 'Consent to be signed'), p(x.consent_line))]),
  cautions(s.cautions)]);
}
const risk = { misrun: 'not filled', cold_shut: 'cold shut', shrinkage: 'shrinkage', detail_loss: 'a detail stays empty', broken_stream: 'the stream broke off', other: 'other causes' };
function pour(d) {
  const m = d.melt, f = front;
  put('pour', !m ? [] : [
    f ? [el('p', { className: 'say' }, verdict(f.verdict)), fig('fill.failure', 'Risk that the pour fails', f.failure_pct, '%', f, true), p(`That is ${f.failure_words}: between studios it ranges so far.`),
      f.risks.filter(r => r.probability_pct > 0).map(r => fig('fill.' + r.kind, 'of it, ' + risk[r.kind], r.probability_pct, '%', f)),
      fig('fill.time', 'Mould full after', f.nominal.fill_time_s, 's', f), fig('fill.coolest', 'Coolest metal at the front', f.nominal.coolest_c, '°C', f),
      fig('fill.sprue', 'Sprue that feeds it to the end', f.feeding.sprue_needed_mm, 'mm', f), fig('fill.hold', 'Hold the flask shut with', f.flask.hold_kg, 'kg', f), fig('fill.gap', 'Metal stays out of gaps under', f.flask.spill_gap_mm, 'mm', f)] : pourFault ? [el('p', { className: 'say' }, verdict('not_yet')), p(pourFault)] : p('Following the metal …'),
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
