'use strict';
// The plan of the whole order, its paper, and practice; and the start.

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
$('#improve').onclick = e => busy(e.target, 'Trying changes …', async () => {
  const pour = draft?.pieces[current]?.pour;
  if (!pour) return;
  const f = await only(post('fills', { ...pour, improvements: true }));
  put('improvements', [p(f.improvements.length ? `As planned ${f.failure_words} fail.` : 'No change that was tried helps more than the doubt in it.'), table('Each confirmed on the same pours', ['Change', 'Fail then'], f.improvements.map(l => [l.do, l.failure_words]))]);
});
// chargeWords says what the charge is beside the alloy asked for, with its colour.
function chargeWords(c) {
  const m = c.match, k = c.colour, far = m && m.delta_e != null ? `, Delta E ${m.delta_e} from that of ${m.alloy}` : '';
  const what = m && (m.is_alloy ? `The charge is ${m.alloy}.` : `The charge is not ${m.alloy}` + (m.instead.length ? ` but ${m.instead[0]}.` : '.'));
  if (!k) return what && p(what);
  const swatch = el('span', { className: 'swatch' });
  swatch.style.background = k.srgb;
  return el('p', {}, (what || `The charge is ${c.composition}.`) + ' Its colour: ', swatch, ` ${k.srgb}${k.iso_8654 ? ', near ' + k.iso_8654 + ' of ISO 8654' : ''}${far}.`);
}
const testFirst = t => t && [h('Test first'), p(`Nobody vouches for ${t.lots.join(', ')}.`),
  el('ul', {}, t.tests.map(w => el('li', {}, `${words(w.method)}: ${w.how}`))),
  t.outcomes.map(o => p(`${words(o.finding)}: ` + (o.fits ? o.charge.map(c => `${round(c.weigh_g)} g of ${c.id}`).join(', ') + `; ${round(o.bought_g)} g bought.` : 'no charge meets the order.')))];
$('#plan').onclick = e => busy(e.target, 'Planning …', async () => {
  $('#benchlink').textContent = '';
  const plan = await only(post('commissions', asked(true).body));
  $('#planned').classList.remove('old');
  $('#planned').replaceChildren(...[
    el('p', { className: 'say' }, verdict(plan.verdict)), p(plan.summary),
    plan.pieces.map(x => [h(x.name), el('p', { className: 'say' }, verdict(x.verdict)), chargeWords(x.charge), el('ul', {}, x.reasons.map(r => el('li', {}, `${words(r.part)}: ${r.why}${r.do ? ' ' + r.do : ''}`)))]),
    testFirst(plan.test_first),
    h('At the bench'), el('ol', { className: 'steps' }, plan.steps.map(s => el('li', {}, (s.piece ? s.piece + ': ' : '') + s.do, s.caution ? el('p', { className: 'caution care' }, el('strong', {}, 'Beware.'), s.caution) : ''))),
    plan.price && [h('The price'), ...bill({ ...plan.price, working: plan.working?.filter(s => s.what.startsWith('price')), sources: plan.sources }, `In it ${plan.price.remake} ${plan.price.currency} for pours that fail.`)],
    h('Cautions'), cautions(plan.cautions)].flat(9).filter(Boolean));
});
$('#options').onclick = e => busy(e.target, 'Searching …', async () => {
  const found = await only(post('pour-options', asked(true).body)), money = order.prices?.currency || '';
  put('options', [p(found.recommended ? `Option ${found.recommended} keeps to what was asked and serves it best.` : found.why_none),
    table('Ways that no other beats in risk, metal, time and cost', ['Way', 'Risk, %', 'Melt, g', 'Minutes', money],
      [found.as_given, ...found.options].map(w => [(w.number ? `${w.number}. ` : 'As given: ') + w.pieces.map(x => `${x.name}: ${x.changes}`).join('; '), round(w.risk_pct), round(w.melt_g), round(w.bench_min), w.price])),
    found.options.map(w => p(`${w.number}. ${w.summary}`))]);
});
$('#mesh').onchange = async e => {
  const file = e.target.files[0], bad = $('#meshbad'), row = bad.parentNode;
  if (!file) return;
  const tell = text => { row.classList.toggle('wrong', !!text); bad.textContent = text; };
  tell('Following how it freezes …');
  try {
    const m = order.pieces[current].mould || {}, q = new URLSearchParams({ format: 'svg', alloy: order.pieces[current].alloy || order.alloy || 'silver-925' });
    if (typeof m.sprue_diameter_mm === 'number') q.set('sprue_mm', m.sprue_diameter_mm);
    const blob = await only(post('freezes', file, { query: '?' + q, type: 'model/stl', blob: true }));
    hang($('[data-picture=freezing]'), await blob.text());
    tell('');
  } catch (err) { tell(err.problem?.errors?.[0]?.message || err.message); }
};
$('#bench').onclick = e => busy(e.target, 'Drawing …', async () => {
  const blob = await only(post('commissions', asked(true).body, { query: '?format=pdf', blob: true }));
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
