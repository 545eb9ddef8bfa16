package main

import (
	"fmt"
	"os"
	"path/filepath"
)

// serverConfig is what the engine takes from a file only. Under load, with fsync_after_insert alone 4 of 12
// power cuts lost the last acknowledged insert, with the part's directory synced too 1 of 40; what is still
// lost the gap watch asks for again. The caches are far below ClickHouse's defaults, which are made for
// machines that do nothing else. Statistics of columns help to choose between orders of joins,
// of which our questions have few; they were made anew for each of some 150 columns at every merge.
const serverConfig = `<!-- Written by fairlead-engine at each start; changes are lost. -->
<clickhouse>
    <merge_tree>
        <fsync_after_insert>1</fsync_after_insert>
        <fsync_part_directory>1</fsync_part_directory>
        <min_compressed_bytes_to_fsync_after_merge>1</min_compressed_bytes_to_fsync_after_merge>
        <auto_statistics_types></auto_statistics_types>
    </merge_tree>
    <max_server_memory_usage>%d</max_server_memory_usage>
    <mark_cache_size>%d</mark_cache_size>
    <primary_index_cache_size>%d</primary_index_cache_size>
    <index_mark_cache_size>%d</index_mark_cache_size>
    <uncompressed_cache_size>0</uncompressed_cache_size>
    <query_condition_cache_size>%d</query_condition_cache_size>
</clickhouse>
`

func writeConfig(dir string, memory uint64) (string, error) {
	const smallest = 256 << 20
	if memory < smallest {
		return "", fmt.Errorf("--memory: %d bytes are too few for the engine, which needs 256 MiB at least", memory)
	}
	path := filepath.Join(dir, "engine.xml")
	text := fmt.Sprintf(serverConfig, memory, memory/16, memory/16, memory/64, memory/64)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return "", fmt.Errorf("engine's configuration: %w; is the disk full or read-only?", err)
	}
	return path, nil
}

// sessionArgs are the arguments of every connection: the server's, which count for the first one only, and
// the settings of a session.
func sessionArgs(config, dir string, memory uint64) []string {
	return []string{
		"--config-file=" + config,
		"--path=" + dir,
		// On by default in recent versions; it acknowledges rows before they are on the disk.
		"--async_insert=0",
		// A bay's statements come again within a second and read few rows: nothing is compiled at an expression's
		// third use, and no statistics are loaded for each.
		"--compile_expressions=0",
		"--compile_aggregate_expressions=0",
		"--compile_sort_description=0",
		"--use_statistics=0",
		// One statement may not take all; big groupings and sorts go to the disk instead.
		fmt.Sprintf("--max_memory_usage=%d", memory/10*8),
		fmt.Sprintf("--max_bytes_before_external_group_by=%d", memory/10*4),
		fmt.Sprintf("--max_bytes_before_external_sort=%d", memory/10*4),
	}
}
