/* The schema, its migrations and the demo of data/ as bytes in the binary. Each ends with a
 * zero byte that its size does not count. */
#ifndef WETSIDE_BOOK_DATA_H
#define WETSIDE_BOOK_DATA_H

extern const unsigned char ws_data_schema_1_sql[];
extern const unsigned long ws_data_schema_1_sql_size;
extern const unsigned char ws_data_schema_2_sql[];
extern const unsigned long ws_data_schema_2_sql_size;
extern const unsigned char ws_data_demo_json[];
extern const unsigned long ws_data_demo_json_size;

#endif
