// Holds exported Parquet files against the CSV files that they were made of, and runs the queries of
// the document. Arguments: folder of the real drives, CSV of the simulated one, document.
import { DuckDBInstance } from '@duckdb/node-api';
import { readFileSync, readdirSync } from 'node:fs';
import { basename, join } from 'node:path';

const [drives, simulated, document] = process.argv.slice(2);
const connection = await (await DuckDBInstance.create(':memory:')).connect();
const ask = async (sql) => (await connection.runAndReadAll(sql)).getRowObjectsJson();
const fail = (text) => { console.error(text); process.exit(1); };

const sources = readdirSync(drives).filter((f) => f.endsWith('.csv')).map((f) => join(drives, f)).concat(simulated);
let compared = 0;
for (const source of sources) {
  const name = basename(source, '.csv');
  // Rows that are in one and not in the other, each as often as it is there.
  const given = `SELECT round(time_s * 1e6)::BIGINT AS us, signal::VARCHAR AS signal, value::DOUBLE AS value FROM read_csv('${source}', header = true)`;
  const kept = `SELECT round(time_s * 1e6)::BIGINT AS us, signal, value FROM 'long/${name}.parquet' WHERE kind = 'reading'`;
  const [{ n, lost, added }] = await ask(`SELECT (SELECT count(*) FROM (${given})) AS n,
    (SELECT count(*) FROM (${given} EXCEPT ALL ${kept})) AS lost, (SELECT count(*) FROM (${kept} EXCEPT ALL ${given})) AS added`);
  if (Number(n) < 100 || Number(lost) > 0 || Number(added) > 0) fail(`${name}: ${n} readings, ${lost} lost, ${added} added`);
  compared += Number(n);
  const [{ names }] = await ask(`SELECT string_agg(DISTINCT drive) AS names FROM 'wide/${name}.parquet'`);
  if (names !== name) fail(`${name}: the drive is called ${names}`);
}
const [{ unit }] = await ask(`SELECT decode(value) AS unit FROM parquet_kv_metadata('wide/simulated.parquet') WHERE decode(key) = 'unit:RPM'`);
if (unit !== 'rpm') fail(`the unit of RPM is ${unit}`);

const queries = [...readFileSync(document, 'utf8').matchAll(/```sql\n([^]*?)```/g)].map((m) => m[1]);
if (queries.length < 3) fail(`${queries.length} queries found in the document`);
for (const query of queries) {
  const rows = await ask(query);
  if (rows.length === 0) fail(`no rows from\n${query}`);
  console.table(rows.slice(0, 8));
}
const [recipe] = queries;
const shudder = (await ask(recipe)).find((r) => r.drive === 'simulated');
if (!(Number(shudder?.shudder_s) > 0)) fail('the recipe finds no shudder in the simulated drive');
console.log(`${sources.length} drives, ${compared} readings alike, ${queries.length} queries ran`);
