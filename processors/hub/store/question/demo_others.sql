-- How many trials other studios have.
SELECT count() FROM trials WHERE studio != ?
