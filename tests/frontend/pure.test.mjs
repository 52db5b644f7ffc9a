// The parts of the scripts that know nothing of a page.
import assert from "node:assert/strict";
import { test } from "node:test";

import { backoff, retryAfterMs, stamp } from "../../frontend/src/clock.ts";
import { uuid7 } from "../../frontend/src/ids.ts";
import { completed, isWhole, NOTHING, phraseText, placed, tapped, typedOn } from "../../frontend/src/phrase.ts";
import { shareAt, woodOf } from "../../frontend/src/scene_data.ts";

// --- ids -------------------------------------------------------------------------------------------

test("the time of RFC 9562's own example is written as that example writes it", () => {
  // RFC 9562, appendix A.6: 2022-02-22 19:22:22 UTC gives 017F22E2-79B0. Asked first, as time in
  // ids never runs back.
  assert.equal(uuid7(Date.UTC(2022, 1, 22, 19, 22, 22)).slice(0, 13), "017f22e2-79b0");
});

test("an id has the layout of RFC 9562 version 7 and carries its millisecond", () => {
  const at = Date.UTC(2026, 5, 9, 12, 0, 0, 123);
  const id = uuid7(at);
  assert.match(id, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.equal(parseInt(id.replaceAll("-", "").slice(0, 12), 16), at);
});

test("ids made in one place sort in the order they were made and never come twice", () => {
  const now = Date.UTC(2026, 5, 10);
  const ids = Array.from({ length: 9000 }, (_, k) => uuid7(now + (k % 3 === 0 ? 0 : -k)));
  assert.equal(new Set(ids).size, ids.length);
  assert.deepEqual([...ids].sort(), ids);
});

// --- clock -----------------------------------------------------------------------------------------

test("a stamp keeps the grower's own day and its distance from UTC", () => {
  const when = new Date(Date.UTC(2026, 5, 9, 22, 30, 5, 7));
  // Two hours east it is half past midnight of the tenth; half past six west it is 16:00.
  assert.equal(stamp(when, 120), "2026-06-10T00:30:05.007+02:00");
  assert.equal(stamp(when, -390), "2026-06-09T16:00:05.007-06:30");
  assert.equal(stamp(when, 0), "2026-06-09T22:30:05.007+00:00");
  assert.equal(Date.parse(stamp(when, 345)), when.getTime());
});

test("waiting doubles from two seconds and never passes a minute", () => {
  const whole = [1, 2, 3, 4, 5, 6, 20].map((failures) => backoff(failures, 1));
  assert.deepEqual(whole, [2000, 4000, 8000, 16000, 32000, 60000, 60000]);
  assert.equal(backoff(3, 0), 6000);
});

test("a wait the server asks for is read as seconds or as a date", () => {
  assert.equal(retryAfterMs("7"), 7000);
  assert.equal(retryAfterMs(null), undefined);
  assert.equal(retryAfterMs("soon"), undefined);
  assert.equal(retryAfterMs("Wed, 21 Oct 2026 07:28:00 GMT", Date.UTC(2026, 9, 21, 7, 27, 30)), 30000);
  assert.equal(retryAfterMs("Wed, 21 Oct 2015 07:28:00 GMT", Date.UTC(2026, 0, 1)), 0);
});

// --- phrases ---------------------------------------------------------------------------------------

const say = (...taps) => phraseText(taps.reduce((now, [kind, word, group]) => tapped(now, { kind, word, group }), NOTHING));

test("taps in any order give the one order of the bench phrase", () => {
  const wanted = "2R wire on 2 al because gap look 10d yesterday";
  const taps = [["place", "2R"], ["act", "wire on"], ["amount", "2", "gauge"], ["amount", "al", "metal"], ["why", "gap"], ["next", "look 10d"], ["when", "yesterday"]];
  assert.equal(say(...taps), wanted);
  assert.equal(say(taps[1], taps[6], taps[3], taps[2], taps[5], taps[4], taps[0]), wanted);
});

test("the phrases of the trade come out as they are typed", () => {
  assert.equal(say(["place", "2R"], ["act", "wire off"], ["amount", "unwound", "how"], ["amount", "bite 3", "bite"]), "2R wire off bite 3 unwound");
  assert.equal(say(["place", "low"], ["act", "ok"], ["next", "look 10d"]), "low ok look 10d");
  assert.equal(say(["place", "apex"], ["act", "cut"], ["amount", "to pair 1", "to"]), "apex cut to pair 1");
  assert.equal(say(["place", "3R"], ["act", "will cut past later"], ["why", "base"]), "3R will cut past later because base");
  assert.equal(say(["same", ""], ["place", "4L"], ["place", "5R"], ["except", ""], ["place", "end"]), "same 4L 5R except end");
  assert.equal(say(["all", ""], ["except", ""], ["place", "4L"], ["act", "ok"]), "all except 4L ok");
  assert.equal(say(["place", "4L"], ["place", "5R"], ["act", "let run"]), "4L, 5R let run");
});

test("a word tapped twice is gone, another of its group takes its place, a new act drops amounts", () => {
  assert.equal(say(["place", "1L"], ["place", "1L"], ["act", "ok"]), "ok");
  assert.equal(say(["act", "wire on"], ["amount", "2", "gauge"], ["amount", "3", "gauge"]), "wire on 3");
  assert.equal(say(["act", "wire on"], ["amount", "2", "gauge"], ["amount", "2", "gauge"]), "wire on");
  assert.equal(say(["act", "wire on"], ["amount", "2", "gauge"], ["act", "ok"]), "ok");
  assert.equal(say(["act", "ok"], ["when", "yesterday"], ["when", "yesterday"]), "ok");
});

test("a tap on the drawing takes the place of the branch before, unless branches are being listed", () => {
  const one = placed(placed(NOTHING, "1L"), "4R");
  assert.equal(phraseText(tapped(one, { kind: "act", word: "ok" })), "4R ok");
  const same = placed(placed(tapped(NOTHING, { kind: "same", word: "" }), "1L"), "4R");
  assert.equal(phraseText(same), "same 1L 4R");
});

test("a phrase is whole with an act, or with 'same' and a place", () => {
  assert.equal(isWhole(NOTHING), false);
  assert.equal(isWhole(placed(NOTHING, "1L")), false);
  assert.equal(isWhole(tapped(NOTHING, { kind: "act", word: "ok" })), true);
  const same = tapped(NOTHING, { kind: "same", word: "" });
  assert.equal(isWhole(same), false);
  assert.equal(isWhole(placed(same, "1L")), true);
});

test("a tap after words typed by hand goes behind them", () => {
  assert.equal(typedOn("2R wire on ", { kind: "amount", word: "2 al" }), "2R wire on 2 al");
  assert.equal(typedOn("2R ok", { kind: "why", word: "gap" }), "2R ok because gap");
});

test("a completion finishes the half-typed word and follows a whole one", () => {
  assert.equal(completed("2R wi", "wire on"), "2R wire on ");
  assert.equal(completed("2R ", "wire on"), "2R wire on ");
  assert.equal(completed("2R", "wire on"), "2R wire on ");
  assert.equal(completed("", "2R"), "2R ");
});

// --- wood ------------------------------------------------------------------------------------------

const branch = (points, more = {}) => ({ id: "b", name: "b", kind: "primary", act: "", role: "act", mark: "cut", cut_mm: null, keep: false, beyond: false, points, ...more });

test("wood is spread into pieces, coloured, and grey beyond the cut", () => {
  // Two pieces of 30 mm and 10 mm; cut at 30 mm, so the second is cut away.
  const points = [0, 0, 0, 5, 30, 0, 0, 4, 30, 10, 0, 2];
  const wood = woodOf({ branches: [branch(points, { cut_mm: 30 }), branch(points, { role: "ink", beyond: true })], twigs: [-50, 12, 0, -60, 20, 0], pot_mm: [80, 40] });
  assert.equal(wood.count, 4);
  assert.deepEqual([...wood.ends.slice(6, 12)], [30, 0, 0, 30, 10, 0]);
  assert.deepEqual([...wood.radii.slice(0, 4)], [5, 4, 4, 2]);
  assert.deepEqual([...wood.branch], [0, 0, 1, 1]);
  assert.deepEqual([...wood.tone], [2, 5, 5, 5]);
  assert.equal(wood.reach, 60);
  assert.equal(wood.top, 20);
  assert.equal(wood.foot, -8); // a fifth of the pot's radius of 40
});

test("a length along a branch is found as a share of its points", () => {
  const points = [0, 0, 0, 1, 30, 0, 0, 1, 30, 10, 0, 1];
  assert.equal(shareAt(points, 15), 0.25);
  assert.equal(shareAt(points, 35), 0.75);
  assert.equal(shareAt(points, 400), 1);
});
