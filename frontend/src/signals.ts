/** A receipt for hands and ears: a short buzz, and a quiet tone for those who want one. */

import { fact, keepFact } from "./store.ts";

let sound: AudioContext | undefined;

function tone(hertz: number): void {
  sound ??= new AudioContext();
  const wave = sound.createOscillator();
  const volume = sound.createGain();
  const now = sound.currentTime;
  wave.frequency.value = hertz;
  volume.gain.setValueAtTime(0.06, now);
  volume.gain.exponentialRampToValueAtTime(0.0001, now + 0.12);
  wave.connect(volume).connect(sound.destination);
  wave.start(now);
  wave.stop(now + 0.13);
}

/** Buzz once for a line kept, twice for one that needs a look. */
export async function signal(good: boolean): Promise<void> {
  navigator.vibrate?.(good ? 35 : [60, 80, 60]);
  if (await fact("tone", false).catch(() => false)) tone(good ? 520 : 260);
}

/** Let a box on the page turn the tone on and off. */
export async function setUpTone(box: HTMLInputElement): Promise<void> {
  box.checked = await fact("tone", false);
  box.addEventListener("change", () => {
    void keepFact("tone", box.checked).then(() => signal(true));
  });
}
