/* SPDX-License-Identifier: GPL-3.0-or-later
 * The calls of GDAL that are used here, found in the shared library when they are needed:
 * it takes a third of a second to load, which no other run shall pay. Only inside an
 * isolated process. */
#ifndef PAPPUS_INPUT_FOREIGN_GDAL_CALLS_H
#define PAPPUS_INPUT_FOREIGN_GDAL_CALLS_H

#include <pappus/status.h>

#include <cpl_conv.h>
#include <gdal.h>
#include <ogr_api.h>
#include <ogr_srs_api.h>

#define PAPPUS_GDAL_CALLS(X)                                                                       \
    X(CPLSetConfigOption)                                                                          \
    X(CPLPushErrorHandler)                                                                         \
    X(CPLQuietErrorHandler)                                                                        \
    X(VSIFree)                                                                                     \
    X(GDALAllRegister)                                                                             \
    X(GDALOpenEx)                                                                                  \
    X(GDALClose)                                                                                   \
    X(GDALGetRasterCount)                                                                          \
    X(GDALGetRasterXSize)                                                                          \
    X(GDALGetRasterYSize)                                                                          \
    X(GDALGetRasterBand)                                                                           \
    X(GDALGetRasterNoDataValue)                                                                    \
    X(GDALRasterIO)                                                                                \
    X(GDALGetGeoTransform)                                                                         \
    X(GDALGetSpatialRef)                                                                           \
    X(GDALDatasetGetLayerCount)                                                                    \
    X(GDALDatasetGetLayer)                                                                         \
    X(OSRNewSpatialReference)                                                                      \
    X(OSRDestroySpatialReference)                                                                  \
    X(OSRCloneGeogCS)                                                                              \
    X(OSRImportFromEPSG)                                                                           \
    X(OSRSetAxisMappingStrategy)                                                                   \
    X(OCTNewCoordinateTransformation)                                                              \
    X(OCTTransform)                                                                                \
    X(OCTDestroyCoordinateTransformation)                                                          \
    X(OGR_L_GetName)                                                                               \
    X(OGR_L_GetSpatialRef)                                                                         \
    X(OGR_L_GetNextFeature)                                                                        \
    X(OGR_F_GetFieldIndex)                                                                         \
    X(OGR_F_IsFieldSetAndNotNull)                                                                  \
    X(OGR_F_GetFieldAsString)                                                                      \
    X(OGR_F_GetGeometryRef)                                                                        \
    X(OGR_F_Destroy)                                                                               \
    X(OGR_G_Transform)                                                                             \
    X(OGR_G_FlattenTo2D)                                                                           \
    X(OGR_G_GetGeometryType)                                                                       \
    X(OGR_G_ExportToJson)

typedef struct {
#define PAPPUS_GDAL_MEMBER(name) __typeof__(&name) name;
    PAPPUS_GDAL_CALLS(PAPPUS_GDAL_MEMBER)
#undef PAPPUS_GDAL_MEMBER
} pappus_gdal;

/** Loads the library, registers its drivers and keeps it quiet, off the network and from
 * writing beside the file. `code` when it is not installed. */
int pappus_gdal_load(pappus_gdal *gdal, int code, pappus_error *err);

#endif
