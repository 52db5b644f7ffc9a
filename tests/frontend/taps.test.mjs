// Numbers that go into the blanks of a phrase on the device, as the server puts them in.
import assert from "node:assert/strict";
import { test } from "node:test";
import { filledIn } from "../../frontend/src/phrase.ts";

test("each number goes into its blank, in order", () => {
  assert.equal(filledIn("4R base __", ["9.2"], ""), "4R base 9.2");
  assert.equal(filledIn("2.5Lg exit __ entry __", ["6.1", "4.6"], ""), "2.5Lg exit 6.1 entry 4.6");
});

test("a blank left empty goes with the word before it; with none filled there is no phrase", () => {
  assert.equal(filledIn("2.5Lg exit __ entry __", ["6.1", ""], ""), "2.5Lg exit 6.1");
  assert.equal(filledIn("2.5Lg exit __ entry __", ["", "4.6"], ""), "2.5Lg entry 4.6");
  assert.equal(filledIn("4R base __", [""], ""), "");
  assert.equal(filledIn("4R base __", [], ""), "");
});

test("a bare number is in the grower's unit, one with its own unit keeps it", () => {
  assert.equal(filledIn("4R base __", ["0.4"], " in"), "4R base 0.4 in");
  assert.equal(filledIn("4R base __", ["9 mm"], " in"), "4R base 9 mm");
});

test("a phrase without blanks stays as it is", () => {
  assert.equal(filledIn("4R wire off bite 3", [], " in"), "4R wire off bite 3");
});
