-- What bays' devices read off, of a snapshot.
INSERT INTO fleet_biases (snapshot, studio, bay, device, at, bias, bias_variance)
