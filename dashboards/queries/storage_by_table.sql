-- What does a shot cost on disk? Rows, bytes and bytes a row of each table of this
-- database, and how well it packs. Rows that wait to be merged count until they are.
--
-- For: ops
-- Columns:
--   table           table
--   parts           active parts
--   rows            rows in them, older versions included
--   disk_bytes      bytes on disk, with indexes and marks
--   unpacked_bytes  bytes before compression
--   ratio           unpacked to packed
--   bytes_a_row     bytes on disk a row
-- Run:
--   curl -H "X-ClickHouse-Key: $(cat var/keys/engine.token)" \
--     'http://127.0.0.1:8123/?database=fairlead&default_format=TSVWithNames' \
--     --data-binary @dashboards/queries/storage_by_table.sql
SELECT table, count() AS parts, sum(p.rows) AS rows,
    sum(bytes_on_disk) AS disk_bytes,
    sum(data_uncompressed_bytes) AS unpacked_bytes,
    round(unpacked_bytes / sum(data_compressed_bytes), 1) AS ratio,
    round(disk_bytes / sum(p.rows), 1) AS bytes_a_row
FROM system.parts AS p
WHERE database = currentDatabase() AND active
GROUP BY table
ORDER BY disk_bytes DESC, table
