// Lengths as this design writes them: decimals of a millimetre, or inches in sixty-fourths.

const TAPE = 64;

export function lengthText(mm, unit) {
  if (unit === "in") return `${tapeText(mm / 25.4)} in`;
  if (unit === "cm") return `${trim(mm / 10, 3)} cm`;
  return `${trim(mm, 2)} mm`;
}

function tapeText(inches) {
  const parts = Math.round(inches * TAPE);
  const off = Math.abs(parts / TAPE - inches);
  if (off > 0.0006) return trim(inches, 3); // between two marks of the tape
  const sign = parts < 0 ? "−" : "";
  let rest = Math.abs(parts) % TAPE;
  const whole = Math.floor(Math.abs(parts) / TAPE);
  let below = TAPE;
  while (rest && rest % 2 === 0) {
    rest /= 2;
    below /= 2;
  }
  if (!rest) return `${sign}${whole}`;
  return whole ? `${sign}${whole} ${rest}/${below}` : `${sign}${rest}/${below}`;
}

function trim(value, places) {
  const text = value.toFixed(places).replace(/\.?0+$/, "");
  return text === "-0" || text === "" ? "0" : text.replace("-", "−");
}
