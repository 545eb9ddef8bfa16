package studio

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"fairlead/deploy/backup"
	"fairlead/processors/hub/watch"
)

// Backup says where copies of the studio go, and how often.
type Backup struct {
	To          string   `yaml:"to"`               // a folder, or s3://HOST[:PORT]/BUCKET[/PREFIX]; none: no backups
	Credentials string   `yaml:"credentials_file"` // of an S3-like store: access key and secret, a line each
	Key         string   `yaml:"key_file"`         // opens the backups; default: backup.key of the studio's keys, made at the first one
	Every       Duration `yaml:"every"`            // default 24h
	Keep        Duration `yaml:"keep"`             // older copies go; default 35d
	Try         Duration `yaml:"try"`              // how often the newest copy is restored for a try; default 7d, 0s: never
}

// days of the defaults.
const (
	backupEvery = 24 * time.Hour
	backupKeep  = 35 * 24 * time.Hour
	backupTry   = 7 * 24 * time.Hour
)

func (b Backup) check(c *Config) (problems []error) {
	if b.To == "" {
		return nil
	}
	if every := time.Duration(b.Every); every < time.Minute {
		problems = append(problems, fmt.Errorf("backup.every: %q: write at least 1m, such as 24h", every))
	}
	if b.Keep < b.Every {
		problems = append(problems, fmt.Errorf("backup.keep: %q: keep copies longer than one to the next", time.Duration(b.Keep)))
	}
	if strings.Contains(b.To, "://") {
		if !strings.HasPrefix(b.To, "s3://") && !strings.HasPrefix(b.To, "s3+http://") {
			problems = append(problems, fmt.Errorf("backup.to: %q: write a folder, or s3://HOST[:PORT]/BUCKET[/PREFIX]", b.To))
		}
		return problems
	}
	if inside, err := filepath.Rel(c.DataPath(), c.Path(b.To)); err == nil && filepath.IsLocal(inside) {
		problems = append(problems, fmt.Errorf("backup.to: %q: it lies within the data folder, and would be lost with it", b.To))
	}
	return problems
}

// BackupTarget is where copies go.
func (c *Config) BackupTarget() (backup.Target, error) {
	to, credentials := c.Backup.To, ""
	if to != "" && !strings.Contains(to, "://") {
		to = c.Path(to)
	}
	if c.Backup.Credentials != "" {
		credentials = c.Path(c.Backup.Credentials)
	}
	return backup.OpenTarget(to, credentials)
}

// BackupKeyFile holds what opens the copies.
func (c *Config) BackupKeyFile() string {
	if c.Backup.Key != "" {
		return c.Path(c.Backup.Key)
	}
	return c.DataPath("keys", "backup.key")
}

// BackupStateFile says what became of the latest copies.
func (c *Config) BackupStateFile() string { return c.DataPath("backup.json") }

// backupAlarms says whether the backups are old, untried or fail.
func (c *Config) backupAlarms(now time.Time) (out []watch.Alarm) {
	if c.Backup.To == "" {
		return nil
	}
	s, err := backup.ReadState(c.BackupStateFile())
	if err != nil {
		return []watch.Alarm{{Where: "backup", What: "old", Severity: watch.Warning,
			Text: err.Error() + ": remove the file; the next backup writes it anew"}}
	}
	if said := s.Late(now, time.Duration(c.Backup.Every)); said != "" {
		out = append(out, watch.Alarm{Where: "backup", What: "old", Severity: watch.Warning,
			Text: said + ". See `fairlead backup` by hand, the place " + c.Backup.To + ", and its room"})
	}
	if said := s.Failing(); said != "" {
		out = append(out, watch.Alarm{Where: "backup", What: "failing", Severity: watch.Warning,
			Text: said + ". See the place " + c.Backup.To + ", its room and its credentials; `fairlead backup` tries it at once"})
	}
	if said := s.Untried(now, time.Duration(c.Backup.Try)); said != "" {
		out = append(out, watch.Alarm{Where: "backup", What: "untried", Severity: watch.Warning,
			Text: said + ". What was never restored is no backup: `fairlead backup try` says what is wrong"})
	}
	return out
}

// Named are the files that the configuration names, as far as it does.
func (c *Config) Named() (out []string) {
	files := []string{c.Notify.Mail.PasswordFile, c.Notify.Webhook.SecretFile, c.Backup.Credentials, c.Backup.Key, c.Broker.Seed,
		c.Broker.Creds, c.TLS.Cert, c.TLS.Key, c.Metrics.Token}
	for _, b := range c.Bays {
		for _, f := range b.Feeds {
			files = append(files, f.Map)
		}
	}
	for _, f := range files {
		if f != "" {
			out = append(out, c.Path(f))
		}
	}
	return out
}
