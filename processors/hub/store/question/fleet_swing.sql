-- The profile that a select gives, trait by trait.
SELECT measured, {{floats}} FROM ({{.Profiles}})
