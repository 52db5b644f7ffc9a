/**
 * A bench phrase put together from taps, in the one order that the phrase box reads:
 * place, act, amount, why, next, day. Pure: it knows nothing of the page.
 */

/** What a tap adds to the phrase. */
export type Kind = "place" | "act" | "amount" | "why" | "next" | "when" | "same" | "except" | "all";

/** One tap. */
export interface Tap {
  kind: Kind;
  word: string;
  /** Amounts of one group stand for each other: a second gauge replaces the first. */
  group?: string;
}

/** A phrase in the making. */
export interface Making {
  readonly places: readonly string[];
  readonly spared: readonly string[];
  readonly act: string;
  readonly amounts: Readonly<Record<string, string>>;
  readonly why: string;
  readonly next: string;
  readonly when: string;
  readonly same: boolean;
  /** The next places are spared instead of meant. */
  readonly sparing: boolean;
}

/** Nothing tapped yet. */
export const NOTHING: Making = {
  places: [],
  spared: [],
  act: "",
  amounts: {},
  why: "",
  next: "",
  when: "",
  same: false,
  sparing: false,
};

/** The order in which amounts are said, whatever order they are tapped in. */
const AMOUNT_ORDER = ["gauge", "metal", "fit", "to", "share", "bite", "how", "until"];

/** Add one tap. A word tapped twice is taken out again. */
export function tapped(making: Making, tap: Tap): Making {
  switch (tap.kind) {
    case "place":
      return withPlace(making, tap.word);
    case "act":
      return { ...making, act: tap.word, amounts: {}, same: false };
    case "amount":
      return { ...making, amounts: withAmount(making.amounts, tap.group ?? tap.word, tap.word) };
    case "why":
    case "next":
    case "when":
      return { ...making, [tap.kind]: making[tap.kind] === tap.word ? "" : tap.word };
    case "same":
      return { ...NOTHING, same: true, when: making.when };
    case "except":
      return { ...making, sparing: !making.sparing };
    case "all":
      return { ...making, places: ["all"], spared: [] };
  }
}

function toggled(words: readonly string[], word: string): string[] {
  return words.includes(word) ? words.filter((each) => each !== word) : [...words, word];
}

function withPlace(making: Making, word: string): Making {
  if (making.sparing) return { ...making, spared: toggled(making.spared, word) };
  return { ...making, places: toggled(making.places.filter((place) => place !== "all"), word) };
}

function withAmount(
  amounts: Readonly<Record<string, string>>,
  group: string,
  word: string,
): Record<string, string> {
  const { [group]: before, ...rest } = amounts;
  return before === word ? rest : { ...rest, [group]: word };
}

/** Choose one place in the stead of all others, as a tap on the drawing does. */
export function placed(making: Making, place: string): Making {
  if (making.sparing || making.same) return withPlace(making, place);
  return { ...making, places: [place], spared: [] };
}

/** The phrase as it would be typed. */
export function phraseText(making: Making): string {
  const spared = making.spared.length > 0 ? `except ${making.spared.join(", ")}` : "";
  const where = making.same
    ? `same ${making.places.join(" ")} ${spared}`
    : `${making.places.join(", ")} ${spared} ${making.act}`;
  const parts = [
    where,
    ...amountWords(making.amounts),
    making.why === "" ? "" : `because ${making.why}`,
    making.next,
    making.when,
  ];
  return parts.join(" ").replace(/\s+/g, " ").trim();
}

function amountWords(amounts: Readonly<Record<string, string>>): string[] {
  const place = (group: string): number => {
    const found = AMOUNT_ORDER.indexOf(group);
    return found < 0 ? AMOUNT_ORDER.length : found;
  };
  return Object.entries(amounts)
    .sort(([a], [b]) => place(a) - place(b))
    .map(([, word]) => word);
}

/** True when something can be written: an act, or "same" with a place. */
export function isWhole(making: Making): boolean {
  return making.act !== "" || (making.same && making.places.length > 0);
}

/**
 * Put numbers in the blanks of a phrase, in order; a blank left empty goes with the word before it.
 * Nothing comes back when there are blanks and no number.
 */
export function filledIn(phrase: string, numbers: readonly string[], unit: string): string {
  const left = [...numbers];
  const said: string[] = [];
  let asked = 0;
  let given = 0;
  for (const word of phrase.split(" ")) {
    if (word !== "__") {
      said.push(word);
      continue;
    }
    asked += 1;
    const number = left.shift() ?? "";
    if (number === "") said.pop();
    else said.push(/[a-z"]$/i.test(number) ? number : `${number}${unit}`);
    if (number !== "") given += 1;
  }
  return asked > 0 && given === 0 ? "" : said.join(" ");
}

/** Put a tapped word after what the grower typed by hand. */
export function typedOn(text: string, tap: Tap): string {
  const word = tap.kind === "why" ? `because ${tap.word}` : tap.word;
  return `${text.trimEnd()} ${word}`.trim();
}

/** Put a completion in the stead of the half-typed last word, or after a whole one. */
export function completed(text: string, completion: string): string {
  const cut = text.search(/\S*$/);
  const tail = text.slice(cut);
  const begun = tail !== "" && completion.toLowerCase().startsWith(tail.toLowerCase());
  const head = begun ? text.slice(0, cut) : tail === "" ? text : `${text} `;
  return `${head}${completion} `;
}
