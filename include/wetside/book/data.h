/* Everything in data/ as bytes in the binary: schema and migrations, the demo. Each ends with a
 * zero byte that its size does not count. */
#ifndef WETSIDE_BOOK_DATA_H
#define WETSIDE_BOOK_DATA_H

extern const unsigned char ws_data_schema_1_sql[];
extern const unsigned long ws_data_schema_1_sql_size;
extern const unsigned char ws_data_demo_json[];
extern const unsigned long ws_data_demo_json_size;

#endif
