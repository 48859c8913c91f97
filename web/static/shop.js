// The shop's reasons, machines and routes, fetched once for a page.
import {signal} from "/static/vendor/ui.js";
import {get} from "/static/api.js";

export const shop = signal(null);

export async function loadShop() {
  shop.value = await get("/api/v1/shop");
  return shop.value;
}

// reasonText is a reason in the shop's words; what is no reason of the list is
// shown as it was said.
export function reasonText(code, ...kinds) {
  if (!code || !shop.value) return code || "";
  for (const kind of kinds) {
    const r = shop.value.reasons.find((x) => x.kind === kind && x.reason === code);
    if (r) return r.text || r.reason;
  }
  return code;
}

export const machineName = (id) => {
  const m = shop.value && shop.value.machines.find((x) => x.machine === id);
  return m && m.name ? m.name : "";
};
