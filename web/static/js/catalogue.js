// The catalogue of a species, indexed. Labels are looked up here and nowhere else.

const byID = (rows) => new Map((rows || []).map((row) => [row.id, row]));

export class Catalogue {
  /** unplaced: the places of the chest are not named. */
  constructor(data, absent, unplaced = false) {
    Object.assign(this, data);
    this.absent = new Set(absent || []);
    this.unplaced = unplaced;
    for (const name of ["stages", "regions", "steps", "fields", "topics", "handling", "problems"]) this["_" + name] = byID(this[name]);
  }
  stage(id) { return this._stages.get(id); }
  region(id) { return this._regions.get(id); }
  step(id) { return this._steps.get(id); }
  field(id) { return this._fields.get(id); }
  topic(id) { return this._topics.get(id); }
  handle(id) { return this._handling.get(id); }

  stepsOf(region) { return this.steps.filter((s) => s.region === region && !this.absent.has(s.id)); }
  fieldsOf(region) { return this.fields.filter((f) => f.region === region); }
  regionsOf(stage) { return this.regions.filter((r) => r.stage === stage); }
  placesOf(field) { return field.per_site && field.sites?.length ? field.sites.map((site) => ({ field: field.id, site })) : [{ field: field.id, site: "" }]; }

  fieldLabel(id) { return this.field(id)?.label || id; }
  valueLabel(fieldID, value) {
    const choice = this.field(fieldID)?.choices?.find((c) => c.id === value);
    return choice ? choice.label : value;
  }
  /** The unit in which a figure of the field is asked for: the one that the school puts first. */
  unit(field) {
    if (field?.vital === "temperature") return this.school.temperature === "degF" ? "°F" : "°C";
    if (field?.vital === "weight") return this.school.weight;
    return field?.unit || "";
  }
  /** The unit of a figure as it was charted; none where the value brings its own. */
  unitOf(field, value) {
    if (!field?.unit || /[a-z°]/i.test(value)) return "";
    if (field.vital === "temperature") return Number(value) > 60 ? "°F" : "°C";
    return field.vital === "weight" ? "kg" : field.unit;
  }
  /** A charted line's value as the sheet writes it. */
  shown(line) {
    if (line.value === "not examined") return "not examined" + (line.reason ? ": " + line.reason : "");
    return [this.valueLabel(line.field, line.value), this.unitOf(this.field(line.field), line.value)].filter(Boolean).join("\u00a0");
  }
  stepLabel(act) {
    const step = this.step(act.step);
    return [step ? step.label : act.step, this.siteOf(act), act.manner].filter(Boolean).join(", ");
  }
  /** Where an act was done, where that may be named. */
  siteOf(act) { return this.unplaced && this.step(act.step)?.at?.length ? "" : act.site; }
  /** Whether a field's sites are places of the chest piece. */
  placed(field) {
    if (!field?.per_site || !field.sites?.length) return false;
    const at = new Set(this.steps.filter((s) => s.region === field.region).flatMap((s) => (s.at || []).map((p) => p.site)));
    return field.sites.every((s) => at.has(s));
  }
}

/** The key of a field at a site. */
export const key = (place) => place.field + "@" + (place.site || "");
