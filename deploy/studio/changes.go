package studio

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// FeedChanges says in words what differs between the feeds of two configurations.
func FeedChanges(was, is []Feed) (out []string) {
	for _, f := range is {
		i := slices.IndexFunc(was, func(o Feed) bool { return o.Name == f.Name })
		switch {
		case i < 0:
			_, place := f.source()
			out = append(out, fmt.Sprintf("feed %s: new, reads %s", f.Name, place))
		case !reflect.DeepEqual(was[i], f):
			out = append(out, fmt.Sprintf("feed %s: %s", f.Name, strings.Join(fields(reflect.ValueOf(was[i]), reflect.ValueOf(f), ""), ", ")))
		}
	}
	for _, o := range was {
		if !slices.ContainsFunc(is, func(f Feed) bool { return o.Name == f.Name }) {
			out = append(out, fmt.Sprintf("feed %s: gone", o.Name))
		}
	}
	return out
}

// fields lists the keys whose values differ, with both values. Secrets are named
// without them.
func fields(was, is reflect.Value, under string) (out []string) {
	for i := range was.NumField() {
		f := was.Type().Field(i)
		key, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
		if key == "" || !f.IsExported() {
			continue
		}
		a, b := was.Field(i), is.Field(i)
		switch {
		case reflect.DeepEqual(a.Interface(), b.Interface()):
		case a.Kind() == reflect.Struct:
			out = append(out, fields(a, b, under+key+".")...)
		case key == "token":
			out = append(out, under+key+" changed")
		default:
			out = append(out, fmt.Sprintf("%s%s is %s, was %s", under, key, shown(b), shown(a)))
		}
	}
	return out
}

func shown(v reflect.Value) string {
	if s, ok := v.Interface().(fmt.Stringer); ok {
		return s.String()
	}
	return fmt.Sprintf("%q", fmt.Sprint(v.Interface()))
}
