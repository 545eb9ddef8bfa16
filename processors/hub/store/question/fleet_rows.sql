-- Rows with the columns of fleet_trials, in an order.
SELECT {{.Columns}} FROM {{.From}} ORDER BY {{.Order}}
