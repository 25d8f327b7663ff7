-- AlterTable
ALTER TABLE "Building" ADD COLUMN     "plant" JSONB;
