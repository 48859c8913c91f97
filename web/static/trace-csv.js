// What was traced as tables: batches, and what happened at each operation.
import {html} from "/static/vendor/ui.js";
import {say} from "/static/words.js";
import {CsvButton} from "/static/csv.js";
import {deliveriesOf} from "/static/trace-lists.js";

const head = ["card", "root", "parent", "joined_to", "works_order", "order_line", "customer", "part", "drawing_rev", "route_rev", "state", "released", "ended", "started", "good", "scrap", "concession", "review", "missing", "stock"];

const delivered = (b) => b.deliveries.reduce((n, d) => n + d.pieces, 0);

export function TraceCsv({list}) {
  const batches = () => list.map((b) => [...head.map((k) => b[k]), b.material_lots.join("; "), delivered(b), b.concessions.map((c) => c.reference).join("; ")]);
  const operations = () => list.flatMap((b) => b.operations.map((o) => [b.card, b.works_order, b.part, o.operation, o.work_centre, o.machines.join("; "), o.outside, o.good, o.concession]));
  const out = () => deliveriesOf(list).map((d) => [d.at, d.note, d.b.customer, d.b.part, d.pieces, d.b.card, d.b.works_order, d.b.material_lots.join("; ")]);
  return html`<div class="deeds csv-row"><span>${say("trace.csv")}</span>
    <${CsvButton} text=${say("nav.batches")} name="trace-batches" head=${[...head, "material_lots", "delivered", "concession_references"]} rows=${batches} />
    <${CsvButton} text=${say("batch.operations")} name="trace-operations" head=${["card", "works_order", "part", "operation", "work_centre", "machines", "outside", "good", "concession"]} rows=${operations} />
    <${CsvButton} text=${say("trace.delivered")} name="trace-deliveries" head=${["at", "note", "customer", "part", "pieces", "card", "works_order", "material_lots"]} rows=${out} /></div>`;
}
