-- How many trials that may teach the fleet another flight model had a part in.
SELECT count() FROM trials FINAL WHERE n > 0 AND consent AND NOT minor AND player != '' AND NOT {{present}}
