package watch

import (
	"fmt"
	"time"

	"github.com/dustin/go-humanize"
)

const (
	// fillLooked is how long a disk must have been looked at before it is told when
	// it will be full, and fillKept how far back the looks go.
	fillLooked = 10 * time.Minute
	fillKept   = 6 * time.Hour
	fillEvery  = time.Minute
	// fillSoon is how near that must be.
	fillSoon = 24 * time.Hour
)

// Disk is a disk and its room.
type Disk struct {
	Where string // such as hub, or bay north
	Free  uint64 // bytes
	// Reserve is what stays free: below it nothing is taken.
	Reserve uint64
}

type looked struct {
	at   time.Time
	free uint64
}

// Rooms tells when disks will be full, from how they filled in the last hours.
type Rooms struct{ seen map[string][]looked }

// Look takes the room that disks have now and lists those that will soon be full.
func (r *Rooms) Look(disks []Disk, now time.Time) (out []Alarm) {
	if r.seen == nil {
		r.seen = map[string][]looked{}
	}
	for _, d := range disks {
		list := r.seen[d.Where]
		if n := len(list); n == 0 || now.Sub(list[n-1].at) >= fillEvery {
			list = append(list, looked{now, d.Free})
		}
		for now.Sub(list[0].at) > fillKept {
			list = list[1:]
		}
		r.seen[d.Where] = list
		if a := d.filling(list[0], now); a != nil {
			out = append(out, *a)
		}
	}
	return out
}

// filling is the alarm of a disk that had so much room at an earlier look.
func (d Disk) filling(before looked, now time.Time) *Alarm {
	if d.Free <= d.Reserve {
		return &Alarm{Where: d.Where, What: "full", Severity: Critical,
			Text: fmt.Sprintf("%s free on its disk, and %s are kept in reserve: nothing more is taken. Free space", humanize.IBytes(d.Free),
				humanize.IBytes(d.Reserve))}
	}
	since := now.Sub(before.at)
	if since < fillLooked || before.free <= d.Free {
		return nil
	}
	rate := float64(before.free-d.Free) / since.Seconds()
	left := time.Duration(float64(d.Free-d.Reserve) / rate * float64(time.Second))
	if left > fillSoon {
		return nil
	}
	return &Alarm{Where: d.Where, What: "filling", Severity: Warning,
		Text: fmt.Sprintf("its disk is full in about %s if it goes on filling as in the last %s (%s free): free space, or see what writes so "+
			"much",
			roughly(left), roughly(since), humanize.IBytes(d.Free))}
}

// roughly gives a time in minutes below two hours, else in hours.
func roughly(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	}
	return fmt.Sprintf("%d hours", int(d.Hours()+0.5))
}
