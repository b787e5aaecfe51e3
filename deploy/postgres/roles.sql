-- An example for whoever keeps the database: a role that writes, a role that reads, and the schema between them.
-- As a superuser or the database's owner:
--
--     createdb bakery
--     psql -v ON_ERROR_STOP=1 -d bakery -f roles.sql
--     psql -d bakery -c '\password ovenward'

-- The service. Owning its schema it makes its tables there, and needs no right on the rest of the database.
CREATE ROLE ovenward LOGIN;
CREATE SCHEMA ovenward AUTHORIZATION ovenward;

-- Those who look: dashboards, the energy report. GRANT ovenward_reader TO whoever reads.
CREATE ROLE ovenward_reader NOLOGIN;
GRANT USAGE ON SCHEMA ovenward TO ovenward_reader;
-- Tables that are not there yet, and those that a later version adds.
ALTER DEFAULT PRIVILEGES FOR ROLE ovenward IN SCHEMA ovenward GRANT SELECT ON TABLES TO ovenward_reader;
