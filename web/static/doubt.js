// Why the server's clock can't be believed, asked for now and again.
import {signal} from "/static/vendor/ui.js";
import {syncClock} from "/static/api.js";

export const doubt = signal("");

const every = 20000; // ms

// watchDoubt measures the clock and keeps doubt up to date; it gives what ends it.
export function watchDoubt() {
  const look = () => syncClock().then((c) => { doubt.value = c.doubt; }).catch(() => {});
  look();
  const t = setInterval(look, every);
  return () => clearInterval(t);
}
