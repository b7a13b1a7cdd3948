// What was drafted in this browser for the visit of this page has served; others may
// use the browser after this person.

const visit = location.pathname.split("/")[2];
for (const name of Object.keys(localStorage)) if (name === `dewclaw-assess-${visit}` || (name.startsWith("dewclaw-acts-") && name.endsWith(visit))) localStorage.removeItem(name);
