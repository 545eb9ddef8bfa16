-- The mean variances of the errors of profiles' traits, in the order of the traits.
SELECT avgForEach(trait_errors) FROM profiles WHERE {{.Where}}
