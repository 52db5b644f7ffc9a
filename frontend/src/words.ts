/** The few words that scripts say. The page brings them in the grower's language. */

type Plural = { one: string; other: string };
type Catalogue = Record<string, string | Plural>;

const ENGLISH: Catalogue = {
  waiting: { one: "{n} line waits on this device.", other: "{n} lines wait on this device." },
  photos: { one: "{n} photo waits on this device.", other: "{n} photos wait on this device." },
  refused: { one: "{n} line was not taken.", other: "{n} lines were not taken." },
  no_signal: "No signal.",
  all_written: "All written.",
  let_out: "This device is not let in any more. Pair it again; the lines stay here.",
  keep_open: "Keep this page open and do not reload it.",
  can_open: "This page opens without signal, and lines are kept until it is back.",
  can_log: "Without signal this page keeps logging while it stays open. Do not reload it then.",
  cannot_keep: "This browser keeps nothing: lines are written only while there is signal.",
  kept: "Kept on this device: {text}",
  sending: "Written down: {text}",
  photo_kept: "Photo kept on this device.",
  photo_written: "Photo written.",
  undo: "Undo",
  taken_back: "Taken back: {text}",
  send_again: "Send again",
  discard: "Discard",
  not_taken: "Not taken",
  unread: "Kept as a note: {words}",
  change: "Line to change",
  suggestions: { one: "{n} way to go on", other: "{n} ways to go on" },
  look_closer: "Look closer",
  failed: "That did not work. Try again.",
  no_reason: "The answer gave no reason.",
  point_set: "Mark at {x} % across and {y} % down.",
  marker_help: "Tap the picture, or move the mark with the arrow keys and press Enter.",
};

let brought: Catalogue | undefined;

function catalogue(): Catalogue {
  if (brought === undefined) {
    const block = document.querySelector("script[data-words]");
    try {
      brought = block?.textContent ? (JSON.parse(block.textContent) as Catalogue) : {};
    } catch {
      brought = {};
    }
  }
  return brought;
}

function pick(found: string | Plural, n: number | undefined): string {
  if (typeof found === "string") return found;
  return n === 1 ? found.one : found.other;
}

/** Say one thing, its named holes filled. `n` also chooses between one and more. */
export function words(key: string, holes: Record<string, string | number> = {}): string {
  const found = catalogue()[key] ?? ENGLISH[key];
  if (found === undefined) return key;
  const n = typeof holes["n"] === "number" ? holes["n"] : undefined;
  return pick(found, n).replace(/\{(\w+)\}/g, (hole, name: string) =>
    name in holes ? String(holes[name]) : hole,
  );
}
