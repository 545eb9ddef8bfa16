-- The mean variances of the errors of profiles' traits, in the order of the traits, and
-- how many profiles have something taken off for what the bay's device reads off.
SELECT avgForEach({{if .Measured}}arrayMap((e, x) -> e - x, trait_errors, arrayResize(taken_off_errors, length(trait_errors))){{else}}trait_errors{{end}}),
    countIf(arrayExists(x -> x != 0, taken_off))
FROM profiles WHERE {{.Where}}
