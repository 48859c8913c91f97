// English of the pages of history and figures.
const common = {
  "filter.part": "Part", "filter.all-parts": "all parts", "filter.route": "Route", "filter.all-routes": "all routes", "filter.customer": "Customer", "filter.works_order": "Works order",
  "filter.period": "Period", "filter.from": "From", "filter.to": "To", "period.30": "last 30 days", "period.91": "last quarter", "period.365": "last year", "period.1095": "last three years", "period.3650": "last ten years", "period.own": "own dates",
  "percent": "{0} %", "few": "too few batches for an interval", "between.95": "95 %: {0} to {1}", "of": "{0} of {1}", "table": "Table", "from": "From", "to": "To", "batches.n.one": "1 batch", "batches.n.other": "{0} batches",
  "type7": "Percentiles are of type 7, as spreadsheets’ PERCENTILE.INC.", "route.rev": "route {0}", "head.lead": "Lead time", "choose-part": "Choose a part.",
};

const history = {
  "nav.history": "History", "history.title": "History", "way.history": "History", "way.history.why": "lead times: how long, and where the days went",
  "history.p50": "Median lead time", "history.p80": "P80", "history.p95": "P95", "history.few95": "needs 20 batches", "history.floor": "On the floor", "history.floor.why": "median, first set-up to end",
  "history.efficiency": "Of it, running", "history.efficiency.why": "in machining 1 % is usual, 20 % is said of the best (George 2002)", "history.on-time": "Order lines on time", "history.on-time.pieces": "{0} of the pieces",
  "history.wip": "Batches on the floor, mean", "history.wip.why": "{0} a day for {1} days",
  "history.rests.one": "From 1 batch that ended in the period.", "history.rests.other": "From {0} batches that ended in the period.", "history.left.one": "1 cancelled or joined batch left out.", "history.left.other": "{0} cancelled or joined batches left out.",
  "history.inferred.one": "In 1 batch something was inferred.", "history.inferred.other": "In {0} batches something was inferred.",
  "history.none": "No batch ended in this period. Choose a longer one, or another part.", "history.only-open": "No batch of these has ended yet; those on the floor are below.",
  "history.distribution": "How long they took", "history.distribution.label": "Lead times of {0} batches as a distribution", "history.over": "Over time", "history.over.label": "Lead times of {0} batches by the day they ended",
  "history.over.how": "A dot is a batch: press on it for its story. Lines are percentiles by month, or by week of a shorter period.", "history.newest": "The newest {0} batches are drawn.",
  "history.where": "Where the days went", "history.where.mean": "The mean batch took {0}; this is where they went.", "history.where.over": "How that changed",
  "history.slowest": "The slowest, and why", "history.mostly": "most of it {0}: {1}", "history.on-floor": "Still on the floor", "history.on-floor.why": "{0} batches have not ended; their time so far is in none of the figures above.",
};

export const figures = {...common, ...history};
