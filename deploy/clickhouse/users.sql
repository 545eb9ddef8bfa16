-- Users by purpose for a ClickHouse server. Run it once as an administrator, after the database was made and with
-- the passwords replaced; `fairlead analysts` does the same for the embedded engine. Each analyst gets a user of
-- their own, so that system.query_log says who asked, and DROP USER ends one without the others.

CREATE ROLE IF NOT EXISTS fairlead_pipeline;
CREATE ROLE IF NOT EXISTS fairlead_pages;
CREATE ROLE IF NOT EXISTS fairlead_analyst;

-- The hub's process: its tables and nothing beside them. No sources, files, SYSTEM or users.
GRANT SELECT, INSERT, ALTER, CREATE TABLE, CREATE VIEW, DROP TABLE, DROP VIEW, TRUNCATE, OPTIMIZE, CHECK ON fairlead.* TO fairlead_pipeline;
GRANT SELECT ON system.* TO fairlead_pipeline;
GRANT CREATE TEMPORARY TABLE ON *.* TO fairlead_pipeline;

-- The console: reads, and keeps what the fleet answered.
GRANT SELECT ON fairlead.* TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.answers TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.profiles TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_snapshots TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_trials TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_builds TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_days TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_biases TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_joins TO fairlead_pages;
GRANT INSERT, ALTER DELETE ON fairlead.fleet_frozen TO fairlead_pages;

-- Analysts: reading only. Rows hold pseudonyms; names are in the hub's people file and never in the store. What
-- people wrote of people is left out, and which pseudonyms of two studios are one player.
GRANT SELECT ON fairlead.* TO fairlead_analyst;
REVOKE SELECT ON fairlead.visit_events FROM fairlead_analyst;
REVOKE SELECT ON fairlead.erasures FROM fairlead_analyst;
REVOKE SELECT ON fairlead.fleet_joins FROM fairlead_analyst;

CREATE SETTINGS PROFILE IF NOT EXISTS fairlead_pipeline SETTINGS async_insert = 0 CONST TO fairlead_pipeline;
CREATE SETTINGS PROFILE IF NOT EXISTS fairlead_analyst SETTINGS
    readonly = 1,
    max_execution_time = 60 MAX 60,
    max_memory_usage = 2000000000 MAX 2000000000,
    max_result_bytes = 268435456 MAX 268435456,
    max_concurrent_queries_for_user = 4 MAX 4,
    max_threads = 2 MAX 4,
    priority = 10
    TO fairlead_analyst;
CREATE QUOTA IF NOT EXISTS fairlead_analyst KEYED BY user_name
    FOR INTERVAL 1 hour MAX queries = 2000, execution_time = 1800
    TO fairlead_analyst;

-- An example of bounds on rows: analysts of one studio of several see its rows only.
-- CREATE ROW POLICY IF NOT EXISTS harbour_row ON fairlead.* FOR SELECT USING studio = 'harbour-row' TO fairlead_analyst

CREATE USER IF NOT EXISTS fairlead_hub IDENTIFIED WITH sha256_password BY 'REPLACE-1' HOST LOCAL DEFAULT ROLE fairlead_pipeline;
CREATE USER IF NOT EXISTS fairlead_console IDENTIFIED WITH sha256_password BY 'REPLACE-2' HOST LOCAL DEFAULT ROLE fairlead_pages;
CREATE USER IF NOT EXISTS jo IDENTIFIED WITH sha256_password BY 'REPLACE-3' DEFAULT ROLE fairlead_analyst;
GRANT fairlead_pipeline TO fairlead_hub;
GRANT fairlead_pages TO fairlead_console;
GRANT fairlead_analyst TO jo;
