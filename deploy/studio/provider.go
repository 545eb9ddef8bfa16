package studio

import (
	"fmt"

	"fairlead/dashboards/gate"
)

// Provider is where people of the studio may sign in by OpenID Connect, as a group
// of studios has it, beside name and password.
type Provider struct {
	Issuer string `yaml:"issuer"`      // the provider's address; empty: there is none
	Client string `yaml:"client"`      // what the provider knows the console by
	Secret string `yaml:"secret_file"` // holds the client's secret, mode 600; left out: it has none
	Claim  string `yaml:"claim"`       // email (default), or preferred_username: what an account's sign-in name is held against
	Name   string `yaml:"name"`        // what people call it; default: the group's account
}

// Provider is where people may sign in beside their passwords; nil: nowhere.
func (c *Config) Provider() *gate.Provider {
	p := c.Console.Provider
	if p == (Provider{}) {
		return nil
	}
	out := &gate.Provider{Issuer: p.Issuer, Client: p.Client, SecretFile: p.Secret, Claim: p.Claim, Name: p.Name}
	if out.Claim == "" {
		out.Claim = "email"
	}
	if out.Name == "" {
		out.Name = "the group's account"
	}
	if out.SecretFile != "" {
		out.SecretFile = c.Path(out.SecretFile)
	}
	return out
}

func (c *Config) checkProvider() error {
	if p := c.Provider(); p != nil {
		if err := p.Check(); err != nil {
			return fmt.Errorf("console.provider.%w", err)
		}
	}
	return nil
}
